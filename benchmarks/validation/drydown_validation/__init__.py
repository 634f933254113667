"""Validation of drydown against published cases and independent references."""
