"""Materials of published cases, for the tests."""

from drydown_validation.engine_side import EN15026, HAMSTAD_2, Of

__all__ = ["EN15026", "HAMSTAD_2", "Of"]
