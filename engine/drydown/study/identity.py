"""Hashes of Python objects and functions: what a result depends on, as far as it can be seen.

A function is its code, its defaults, what it closes over and the globals that it names, functions among them. What
cannot be told from another of its kind is refused by name: results of two studies are never taken for each other.
"""

from __future__ import annotations

import dataclasses
import enum
import functools
import hashlib
import pickle
import sys
import types
from collections.abc import Mapping, Set
from pathlib import Path
from typing import Any

import numpy as np

from ..errors import InputError

#: Plain values whose `repr` tells all of them.
_PLAIN = (str, bytes, bool, int, float, complex, np.generic, Path, range, enum.Enum, types.NoneType)


def of_function(function: Any) -> str:
    """Return a hash of a function: its code, defaults, closure, and the globals that it names.

    Raises
    ------
    InputError
        It uses something that cannot be told from another of its kind.
    """
    return of_object(function)


def of_object(thing: Any) -> str:
    """Return a hash of inputs: frozen dataclasses, arrays, mappings, functions, objects, plain values.

    Raises
    ------
    InputError
        Naming what cannot be told from another of its kind.
    """
    found = _Identity()
    found.feed(thing, "")
    return found.digest.hexdigest()[:32]


class _Identity:
    """A hash that walks through an object; what it met before is named by its turn."""

    def __init__(self) -> None:
        self.digest = hashlib.sha256()
        self.met: dict[int, int] = {}
        self.alive: list[Any] = []  # so that no number is given to another object meanwhile

    def say(self, *words: object) -> None:
        for word in words:
            data = word if isinstance(word, bytes) else str(word).encode()
            self.digest.update(len(data).to_bytes(8, "little") + data)

    def feed(self, thing: Any, where: str) -> None:
        """Add an object; `where` says how it was reached."""
        if isinstance(thing, _PLAIN):
            self.say(type(thing).__qualname__, repr(thing))
            return
        if id(thing) in self.met:
            self.say("met", self.met[id(thing)])
            return
        self.met[id(thing)] = len(self.met)
        self.alive.append(thing)
        if len(self.met) > 2_000_000:
            raise InputError("it holds too much to be told from another; give it a method fingerprint()", where)
        self.say(type(thing).__module__, type(thing).__qualname__)
        if not isinstance(thing, type) and callable(getattr(thing, "fingerprint", None)):
            self.say(thing.fingerprint())
        elif isinstance(thing, np.ndarray) and thing.dtype != object:
            self.say(thing.dtype, thing.shape, np.ascontiguousarray(thing).tobytes())
        elif isinstance(thing, np.ndarray):
            self.feed(thing.tolist(), where)
        elif dataclasses.is_dataclass(thing) and not isinstance(thing, type):
            for field in dataclasses.fields(thing):
                self.say(field.name)
                self.feed(getattr(thing, field.name), f"{where}.{field.name}")
        elif isinstance(thing, Mapping):
            for key in sorted(thing, key=repr):
                self.feed(key, where)
                self.feed(thing[key], f"{where}[{key!r}]")
        elif isinstance(thing, tuple | list):
            for i, item in enumerate(thing):
                self.feed(item, f"{where}[{i}]")
        elif isinstance(thing, Set):
            self.say(*sorted(of_object(item) for item in thing))
        else:
            self._feed_code(thing, where)

    def _feed_code(self, thing: Any, where: str) -> None:
        if isinstance(thing, functools.partial):
            for name, part in (("func", thing.func), ("args", thing.args), ("keywords", thing.keywords)):
                self.feed(part, f"{where}.{name}")
        elif isinstance(thing, types.MethodType):
            self.feed(thing.__func__, where)
            self.feed(thing.__self__, f"{where}.__self__")
        elif isinstance(thing, types.FunctionType):
            self._feed_function(thing, where or thing.__qualname__)
        elif isinstance(thing, types.ModuleType):
            self.say(thing.__name__, version_of(thing.__name__))
        elif isinstance(thing, types.BuiltinFunctionType | type | np.ufunc) or hasattr(thing, "py_func"):
            self._feed_named(thing, where)
        else:
            self._feed_state(thing, where)

    def _feed_function(self, thing: types.FunctionType, where: str) -> None:
        self._feed_bytecode(thing.__code__)
        for part in (thing.__defaults__, thing.__kwdefaults__):
            self.feed(part, f"{where}, a default")
        for name, cell in zip(thing.__code__.co_freevars, thing.__closure__ or (), strict=True):
            try:
                value = cell.cell_contents
            except ValueError:
                value = None
            self.feed(value, f"{where}, '{name}' around it")
        if version_of(thing.__module__ or ""):
            return  # of an installed package: its version stands for what it calls
        for name in sorted(_names(thing.__code__) & set(thing.__globals__)):
            self.say(name)
            self.feed(thing.__globals__[name], f"{where}, the global '{name}'")

    def _feed_bytecode(self, code: types.CodeType) -> None:
        self.say(code.co_code, code.co_names, code.co_varnames[: code.co_argcount + code.co_kwonlyargcount])
        for const in code.co_consts:
            if isinstance(const, types.CodeType):
                self._feed_bytecode(const)
            else:
                self.say(type(const).__qualname__, sorted(map(repr, const)) if isinstance(const, Set) else repr(const))

    def _feed_named(self, thing: Any, where: str) -> None:
        """Add what has a name in a module: its name and version, and the methods of a class of one's own."""
        module = getattr(thing, "__module__", None) or ""
        self.say(module, getattr(thing, "__qualname__", getattr(thing, "__name__", "")), version_of(module))
        if hasattr(thing, "py_func"):
            self.feed(thing.py_func, where)
        if isinstance(thing, type) and module != "builtins" and not version_of(module):
            for name, part in sorted(vars(thing).items()):
                if isinstance(part, types.FunctionType):
                    self.say(name)
                    self.feed(part, f"{where}.{name}")
        if isinstance(thing, types.BuiltinFunctionType) and not isinstance(
            thing.__self__, types.ModuleType | type(None)
        ):
            self.feed(thing.__self__, f"{where}.__self__")

    def _feed_state(self, thing: Any, where: str) -> None:
        """Add the attributes of an object, those in slots as well; else what it would be pickled to."""
        kind = type(thing)
        slots = {s for c in kind.__mro__ for s in _tuple(vars(c).get("__slots__", ()))} - {"__dict__", "__weakref__"}
        state = {s: getattr(thing, s) for s in slots if hasattr(thing, s)}
        state |= {
            k: v for k, v in getattr(thing, "__dict__", {}).items()
            if not isinstance(getattr(kind, k, None), functools.cached_property)
        }  # fmt: skip
        if state:
            if not version_of(kind.__module__):
                self._feed_named(kind, where)
            for name in sorted(state):
                self.say(name)
                self.feed(state[name], f"{where}.{name}")
            return
        try:
            self.say(pickle.dumps(thing, protocol=4))
        except Exception:
            raise InputError(
                f"a {kind.__qualname__} cannot be told from another one, so results of two studies might be mixed; "
                "give it a method fingerprint() that returns a text",
                where,
            ) from None


def _tuple(names: Any) -> tuple[str, ...]:
    return (names,) if isinstance(names, str) else tuple(names)


def _names(code: types.CodeType) -> set[str]:
    """Return the names that a code and the codes inside it look up."""
    inner = [c for c in code.co_consts if isinstance(c, types.CodeType)]
    return set(code.co_names).union(*(_names(c) for c in inner)) if inner else set(code.co_names)


@functools.cache
def version_of(module: str) -> str:
    """Return the version of the installed package that a module belongs to; empty for a script or a notebook."""
    top = module.partition(".")[0]
    if top in sys.stdlib_module_names and top != "__main__":
        return f"python {sys.version_info[0]}.{sys.version_info[1]}"
    if top in ("drydown", "drydown_materials", "drydown_climates"):
        from ..version import __version__

        return __version__
    return _versions().get(top, "")


@functools.cache
def _versions() -> dict[str, str]:
    """Return the version of every installed package, by the names that it can be imported by."""
    from importlib.metadata import packages_distributions, version

    return {top: version(names[0]) for top, names in packages_distributions().items()}
