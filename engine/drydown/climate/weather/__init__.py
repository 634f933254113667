"""Reading, repairing and choosing hourly weather; the schema is `drydown.climate`."""
