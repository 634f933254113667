"""What makes a frozen dataclass frozen all through: mappings that nobody can change, arrays that compare by value."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields
from typing import Any, Generic, TypeVar

import numpy as np

V = TypeVar("V")


class FrozenMap(Mapping[str, V], Generic[V]):
    """A mapping that cannot be changed; equal to a dict of the same items.

    It can be hashed, pickled and copied; a copy is the map itself.

    Parameters
    ----------
    items : mapping or iterable of (str, value), optional
    """

    __slots__ = ("_items",)
    _items: dict[str, V]

    def __init__(self, items: Mapping[str, V] | Iterable[tuple[str, V]] = ()) -> None:
        object.__setattr__(self, "_items", dict(items))

    def __getitem__(self, key: str) -> V:
        return self._items[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self._items)

    def __len__(self) -> int:
        return len(self._items)

    def __hash__(self) -> int:
        return hash(frozenset(self._items))  # of the names: a value may be a list

    def __repr__(self) -> str:
        return repr(self._items)

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"a frozen mapping has no attribute '{name}' to set")

    def __copy__(self) -> FrozenMap[V]:
        return self

    def __deepcopy__(self, memo: dict[int, Any]) -> FrozenMap[V]:
        return self

    def __reduce__(self) -> tuple[type, tuple[dict[str, V]]]:
        return FrozenMap, (dict(self._items),)


class ByValue:
    """Equality, hash and state of a frozen dataclass (``eq=False``) that holds arrays.

    Two are equal where every field is, arrays by shape and value. The arrays of a copy or an unpickled twin are
    read-only, as the original's are.
    """

    def __eq__(self, other: object) -> bool:
        if self is other:
            return True
        if type(other) is not type(self):
            return NotImplemented
        return all(_same(getattr(self, f.name), getattr(other, f.name)) for f in _fields(self))

    def __hash__(self) -> int:
        return hash((type(self), *(_token(getattr(self, f.name)) for f in _fields(self))))

    def __setstate__(self, state: dict[str, Any]) -> None:
        for value in state.values():
            if isinstance(value, np.ndarray):
                value.flags.writeable = False
        self.__dict__.update(state)


def _fields(thing: Any) -> tuple[Any, ...]:
    return tuple(f for f in fields(thing) if f.compare)


def _same(a: Any, b: Any) -> bool:
    if isinstance(a, np.ndarray) and isinstance(b, np.ndarray):
        return a is b or (a.dtype == b.dtype and np.array_equal(a, b, equal_nan=a.dtype.kind == "f"))
    return bool(a == b) if not (isinstance(a, np.ndarray) or isinstance(b, np.ndarray)) else False


def _token(value: Any) -> Any:
    """Return something cheap that equal values share."""
    if isinstance(value, np.ndarray):
        return (value.shape, str(value.dtype), value[:1].tobytes(), value[-1:].tobytes())
    return value
