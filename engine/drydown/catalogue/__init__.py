"""TOML catalogues: reading, a catalogue of one's own, and one entry as text."""
