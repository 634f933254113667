"""A table of a TOML file that knows where it stands, reads values with units and refuses unknown keys."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from ..errors import InputError, nearest
from ..quantities import parse, parse_many


@dataclass(frozen=True)
class Given:
    """What stands in a catalogue file about one entry.

    Parameters
    ----------
    name : str
    kind : {'material', 'film'}
    data : dict
        The table as it stands in the file.
    known : dict
        The sources of the file.
    where : str
    """

    name: str
    kind: str
    data: dict[str, Any] = field(repr=False, hash=False)
    known: dict[str, Any] = field(repr=False, hash=False)
    where: str


@dataclass
class Table:
    """A table of the file: where it stands in words, and which of its keys were read.

    `density` [kg/m3], once known, turns ``"12 %MC"`` into a water content.
    """

    data: dict[str, Any]
    where: str
    density: float | None = None
    seen: set[str] = field(default_factory=set)

    @classmethod
    def of(cls, data: Any, where: str, density: float | None = None) -> Table:
        """Return a Table, or refuse what is no table."""
        if not isinstance(data, dict):
            raise InputError(f"a table {{ ... }} is needed here, not {data!r}", where)
        return cls(data, where, density)

    def at(self, key: str) -> str:
        """Return where a key stands, for an error."""
        return f"{self.where}, {key}"

    def has(self, key: str) -> bool:
        """Say whether a key is there."""
        return key in self.data

    def raw(self, key: str, default: Any = ...) -> Any:
        """Return a value as it stands; without a default it must be there."""
        self.seen.add(key)
        if key not in self.data and default is ...:
            raise InputError(f"'{key}' is missing", self.where)
        return self.data.get(key, default)

    def value(self, key: str, quantity: str, default: Any = ...) -> float:
        """Return a value with a unit in SI."""
        raw = self.raw(key, default)
        return raw if raw is default else parse(raw, quantity, self.at(key), self.density)

    def values(self, key: str, quantity: str) -> tuple[float, ...]:
        """Return several values with a unit in SI."""
        return parse_many(self.raw(key), quantity, self.at(key), self.density)

    def number(self, key: str, default: Any = ...) -> Any:
        """Return a number without a unit."""
        raw = self.raw(key, default)
        if isinstance(raw, bool) or not isinstance(raw, int | float):
            raise InputError(f"'{key}' is {raw!r}; a number without a unit is needed", self.where)
        return float(raw)

    def numbers(self, key: str) -> tuple[float, ...]:
        """Return a list of numbers without a unit."""
        raw = self.raw(key)
        if not isinstance(raw, list) or not all(type(v) in (int, float) for v in raw):
            raise InputError(f"'{key}' must be a list of numbers", self.where)
        return tuple(float(v) for v in raw)

    def texts(self, key: str) -> tuple[str, ...]:
        """Return a list of texts, empty where not given."""
        raw = self.raw(key, [])
        if not isinstance(raw, list) or not all(isinstance(v, str) for v in raw):
            raise InputError(f"'{key}' must be a list of texts", self.where)
        return tuple(raw)

    def table(self, key: str) -> Table:
        """Return a table inside this one."""
        return Table.of(self.raw(key), self.at(key), self.density)

    def done(self) -> None:
        """Refuse keys that nobody read."""
        for key in self.data:
            if key not in self.seen:
                raise InputError(f"'{key}' is not known here; {nearest(key, self.seen)}", self.where)
