"""Runs of the kernel on manufactured solutions, for the tests."""

from drydown_validation.manufactured_runs import end_state, material, order, problem

__all__ = ["end_state", "material", "order", "problem"]
