"""Public names of a package that are imported when first used: the one place that imports by a string."""

from __future__ import annotations

import sys
import warnings
from collections.abc import Callable, Mapping
from importlib import import_module
from typing import Any


def public(
    package: str, home: Mapping[str, str], retired: Mapping[str, tuple[str, str]] | None = None
) -> tuple[Callable[[str], Any], Callable[[], list[str]]]:
    """Return ``__getattr__`` and ``__dir__`` of a package.

    Its modules and packages are attributes as well, imported when they are asked for.

    Parameters
    ----------
    package : str
        Its ``__name__``.
    home : mapping of str to str
        Public name to the module below the package that defines it.
    retired : mapping of str to (str, str), optional
        A name of before to the public name that took its place, and the version in which it goes. It works until
        then, with a warning.
    """
    gone = dict(retired or {})

    def get(name: str) -> Any:
        if name in gone:
            new, version = gone[name]
            message = f"{package}.{name} is called {new} now; the old name goes in version {version}"
            warnings.warn(message, DeprecationWarning, stacklevel=2)
            name = new
        if name in home:
            return getattr(import_module(f"{package}.{home[name]}"), name)
        if name in _rooms(package):
            return import_module(f"{package}.{name}")
        raise AttributeError(f"module {package!r} has no attribute {name!r}")

    def names() -> list[str]:
        kept = vars(sys.modules[package])
        return sorted({*kept.get("__all__", home), *_rooms(package), *(n for n in kept if n.startswith("__"))})

    return get, names


def _rooms(package: str) -> list[str]:
    """Return the modules and packages of a package."""
    from pkgutil import iter_modules

    return [found.name for found in iter_modules(sys.modules[package].__path__)]
