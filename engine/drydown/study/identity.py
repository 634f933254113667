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
import types
import weakref
from collections.abc import Iterator, Mapping, Set
from pathlib import Path
from typing import Any

import numpy as np

from ..errors import InputError
from ..frozen import FrozenMap
from . import sources
from .sources import bytecode, globals_of, imports_of, is_own, names_of
from .sources import version_of as version_of

#: Deeper than any walk.
_NOWHERE = 1 << 60
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
    return _Identity().of(thing).hex()[:32]


def of_case(case: Any) -> int:
    """Return a number for a case that was made by a function, the same in every process; never 0.

    Its functions are told by what they are and hang on, not by the files that they stand in: those are not the same on
    another machine. What is frozen is hashed once while it is there, so that the climate of many cases costs little.

    Raises
    ------
    InputError
        Naming what cannot be told from another of its kind.
    """
    return int.from_bytes(_Identity(files=False, kept=_KEPT).of(case)[:8], "little", signed=True) or 1


#: What is frozen, by its id while it is there: a reference to it, and its hash.
_KEPT: dict[int, tuple[weakref.ref[Any], bytes]] = {}


def _keep(kept: dict[int, tuple[weakref.ref[Any], bytes]], thing: Any, found: bytes) -> None:
    key = id(thing)

    def let_go(reference: weakref.ref[Any]) -> None:
        if kept.get(key, (None, b""))[0] is reference:
            kept.pop(key, None)

    kept[key] = (weakref.ref(thing, let_go), found)


class _Identity:
    """A walk through an object; each thing in it has a hash of its own, made of those of its parts.

    So the hash does not hang on whether two equal parts are one object: they are not in another process. A part of
    itself is named by how far up it stands.
    """

    def __init__(self, files: bool = True, kept: dict[int, tuple[weakref.ref[Any], bytes]] | None = None) -> None:
        self.files, self.kept = files, {} if kept is None else kept
        self.digest = hashlib.sha256()
        self.inside: dict[int, int] = {}  # what the walk stands in, and how deep
        self.modules: set[tuple[int, frozenset[str]]] = set()
        self.done: dict[int, tuple[bytes, bool]] = {}
        self.alive: list[Any] = []  # so that no id is given to another object meanwhile
        self.reach = _NOWHERE  # the least depth that was met again
        self.firm = True  # whether nothing in it can be changed

    def of(self, thing: Any) -> bytes:
        """Return the hash of a thing."""
        self.feed(thing, "")
        return self.digest.digest()

    def say(self, *words: object) -> None:
        for word in words:
            data = word if isinstance(word, bytes) else str(word).encode()
            self.digest.update(len(data).to_bytes(8, "little") + data)

    def feed(self, thing: Any, where: str) -> None:
        """Add an object; `where` says how it was reached."""
        if isinstance(thing, _PLAIN):
            self.say(type(thing).__qualname__, repr(thing))
            return
        if isinstance(thing, types.ModuleType):
            self._feed_module(thing, frozenset(), where)
            return
        key = id(thing)
        if key in self.done:
            found, firm = self.done[key]
            self.say(found)
            self.firm = self.firm and firm
            return
        if (kept := self.kept.get(key)) is not None and kept[0]() is thing:
            self.say(kept[1])
            return
        if key in self.inside:
            self.say("round", len(self.inside) - self.inside[key])
            self.reach, self.firm = min(self.reach, self.inside[key]), False
            return
        if len(self.done) > 2_000_000:
            raise InputError("it holds too much to be told from another; give it a method fingerprint()", where)
        outer, self.digest, self.firm = (self.digest, self.reach, self.firm), hashlib.sha256(), True
        self.reach, depth = _NOWHERE, len(self.inside)
        self.inside[key] = depth
        self.alive.append(thing)
        kind = type(thing)
        self.say(kind.__module__, kind.__qualname__)
        if is_own(kind.__module__):
            self.feed(kind, where)
        self._feed_parts(thing, where)
        del self.inside[key]
        found = self.digest.digest()
        self.done[key] = found, self.firm
        if self.firm and _is_frozen(thing):
            _keep(self.kept, thing, found)
        reach = self.reach if self.reach < depth else _NOWHERE
        self.digest, self.reach, self.firm = outer[0], min(outer[1], reach), outer[2] and self.firm
        self.say(found)

    def _feed_parts(self, thing: Any, where: str) -> None:
        if not isinstance(thing, type) and callable(getattr(thing, "fingerprint", None)):
            self.firm = False
            self.say(thing.fingerprint())
        elif isinstance(thing, np.ndarray) and thing.dtype != object:
            self.firm = _is_frozen(thing)
            self.say(thing.dtype, thing.shape, np.ascontiguousarray(thing).tobytes())
        elif isinstance(thing, np.ndarray):
            self.feed(thing.tolist(), where)
        elif dataclasses.is_dataclass(thing) and not isinstance(thing, type):
            if not _is_frozen(thing):
                self.firm = False
            for field in dataclasses.fields(thing):
                self.say(field.name)
                self.feed(getattr(thing, field.name), f"{where}.{field.name}")
        elif isinstance(thing, Mapping):
            if not isinstance(thing, FrozenMap):
                self.firm = False
            for key in sorted(thing, key=repr):
                self.feed(key, where)
                self.feed(thing[key], f"{where}[{key!r}]")
        elif isinstance(thing, tuple | list):
            if not isinstance(thing, tuple):
                self.firm = False
            for i, item in enumerate(thing):
                self.feed(item, f"{where}[{i}]")
        elif isinstance(thing, Set):
            self.firm = False
            self.say(*sorted(_Identity(self.files, self.kept).of(item) for item in thing))
        else:
            self.firm = False
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
        elif isinstance(thing, types.BuiltinFunctionType | type | np.ufunc) or hasattr(thing, "py_func"):
            self._feed_named(thing, where)
        else:
            self._feed_state(thing, where)

    def _feed_function(self, thing: types.FunctionType, where: str) -> None:
        code = thing.__code__
        self.say(bytecode(code))
        for part in (thing.__defaults__, thing.__kwdefaults__):
            self.feed(part, f"{where}, a default")
        for name, cell in zip(code.co_freevars, thing.__closure__ or (), strict=True):
            try:
                value = cell.cell_contents
            except ValueError:
                value = None
            self._feed_named_in(code, value, f"{where}, '{name}' around it")
        if not is_own(thing.__module__ or ""):
            return  # of an installed package: its version stands for what it calls
        for name in sorted(globals_of(code) & set(thing.__globals__)):
            if self.files or name != "__file__":
                self.say(name)
                self._feed_named_in(code, thing.__globals__[name], f"{where}, the global '{name}'")
        if self.files:
            for name in sorted(imports_of(code)):
                self.say(sources.of_import(name, str(thing.__globals__.get("__package__") or "")))

    def _feed_named_in(self, code: types.CodeType, thing: Any, where: str) -> None:
        """Add what a code names: of a module, what the code may name of it."""
        if isinstance(thing, types.ModuleType):
            self._feed_module(thing, names_of(code), where)
        else:
            self.feed(thing, where)

    def _feed_module(self, thing: types.ModuleType, names: frozenset[str], where: str) -> None:
        """Add a module: an installed one by its version, one's own by its source and by what is named of it now."""
        self.firm = False
        self.say("module", thing.__name__, version_of(thing.__name__))
        key = (id(thing), names)
        if not is_own(thing.__name__) or key in self.modules:
            return
        self.modules.add(key)
        if self.files:
            self.say(sources.of_module(thing))
        for name in sorted(names & set(vars(thing)) - {"__file__"}):
            part = vars(thing)[name]
            self.say(name)
            if isinstance(part, types.ModuleType):
                self._feed_module(part, names, f"{where}.{name}")
            else:
                self.feed(part, f"{where}.{name}")
        self.modules.discard(key)

    def _feed_named(self, thing: Any, where: str) -> None:
        """Add what has a name in a module: its name and version, and the methods of a class of one's own."""
        module = getattr(thing, "__module__", None) or ""
        self.say(module, getattr(thing, "__qualname__", getattr(thing, "__name__", "")), version_of(module))
        if hasattr(thing, "py_func"):
            self.feed(thing.py_func, where)
        if isinstance(thing, type) and is_own(module):
            for name, part in sorted(vars(thing).items()):
                for piece in _pieces(name, part):
                    self.say(name)
                    self.feed(piece, f"{where}.{name}")
            for kind in thing.__bases__:
                self.feed(kind, where)
        if isinstance(thing, types.BuiltinFunctionType) and not isinstance(
            thing.__self__, types.ModuleType | type(None)
        ):
            self.feed(thing.__self__, f"{where}.__self__")

    def _feed_state(self, thing: Any, where: str) -> None:
        """Add the attributes of an object, those in slots as well; else what it would be pickled to.

        An object of an installed package that says what is to be pickled is that; the rest of it may be kept work.
        """
        kind = type(thing)
        if not is_own(kind.__module__) and not hasattr(thing, "__wrapped__") and _says(kind):
            try:
                parts = thing.__reduce_ex__(4)
            except Exception:
                parts = None
            if isinstance(parts, tuple):
                for part in parts:
                    self.feed(list(part) if isinstance(part, Iterator) else part, where)
                return
        slots = {s for c in kind.__mro__ for s in _tuple(vars(c).get("__slots__", ()))} - {"__dict__", "__weakref__"}
        state = {s: getattr(thing, s) for s in slots if hasattr(thing, s)}
        state |= {
            k: v for k, v in getattr(thing, "__dict__", {}).items()
            if not isinstance(getattr(kind, k, None), functools.cached_property)
        }  # fmt: skip
        if state or (is_own(kind.__module__) and hasattr(thing, "__dict__")):
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


def _says(kind: type) -> bool:
    """Return whether a class says itself what is to be pickled of its objects."""
    return any(
        getattr(kind, name) is not getattr(object, name) for name in ("__reduce__", "__reduce_ex__", "__getstate__")
    )


def _pieces(name: str, part: Any) -> tuple[Any, ...]:
    """Return what an entry of a class does, or the value that it is."""
    if isinstance(part, types.FunctionType):
        return (part,)
    if isinstance(part, staticmethod | classmethod):
        return (part.__func__,)
    if isinstance(part, property):
        return tuple(f for f in (part.fget, part.fset) if f is not None)
    if isinstance(part, functools.cached_property):
        return (part.func,)
    if name.startswith("__") or name.startswith("_abc_"):
        return ()
    return (part,) if isinstance(part, (*_PLAIN, tuple, list, dict, np.ndarray)) else ()


def _tuple(names: Any) -> tuple[str, ...]:
    return (names,) if isinstance(names, str) else tuple(names)


def _is_frozen(thing: Any) -> bool:
    """Return whether a dataclass is frozen, or an array and all that it is a view of cannot be written to."""
    if isinstance(thing, np.ndarray):
        while isinstance(thing, np.ndarray):
            if thing.flags.writeable:
                return False
            thing = thing.base
        return thing is None
    made = getattr(type(thing), "__dataclass_params__", None)
    return made is not None and made.frozen and hasattr(thing, "__weakref__")
