"""A study as it was when the store beside it was made; other versions read that store."""

from drydown.study import Axis, FunctionModel, Study


def mixed(a, b):
    if a == 3.0 and b == 1.0:
        raise ValueError("three and one do not go together")
    return a * 10.0 + b + 0.1 * a * b


def study():
    axes = (Axis("a", (1.0, 2.0, 3.0)), Axis("b", (0.0, 1.0)))
    return Study(axes, FunctionModel(mixed, ("value",)), block=3, name="old")
