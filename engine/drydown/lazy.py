"""Public names of a package that are imported when first used: the one place that imports by a string."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib import import_module
from typing import Any


def public(package: str, home: Mapping[str, str]) -> tuple[Callable[[str], Any], Callable[[], list[str]]]:
    """Return ``__getattr__`` and ``__dir__`` of a package.

    Parameters
    ----------
    package : str
        Its ``__name__``.
    home : mapping of str to str
        Public name to the module below the package that defines it.
    """

    def get(name: str) -> Any:
        if name not in home:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        return getattr(import_module(f"{package}.{home[name]}"), name)

    def names() -> list[str]:
        return sorted([*home, "__version__"] if "." not in package else home)

    return get, names
