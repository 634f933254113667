"""The same case given to the engine and to the method of lines, for the tests."""

from drydown_validation.side_by_side import Difference, compare, reference_material, run_reference

__all__ = ["Difference", "compare", "reference_material", "run_reference"]
