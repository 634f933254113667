"""Validation of drydown against published cases and independent references; `drydown validate` runs it."""
