"""Catalogues of materials and films written in TOML: no Python needed to add one.

::

    [source.tables]
    authors = "Some handbook"
    year = 2021
    where = "chapter 26, table 6"
    kind = "measured"

    [material."my board"]
    density = "650 kg/m3"
    heat_capacity = "1880 J/(kg K)"
    saturation = "160 %MC"
    conductivity = { dry = "0.10 W/(m K)", per_moisture = 1.5 }
    storage = { humidity = "49 69 89 %", water = "5.4 8.2 14.7 %MC", pores = "90 kPa", n = 2 }
    permeability = { humidity = "10 50 90 %", permeance = "2.4 110 380 ng/(Pa s m2)", thickness = "10.8 mm" }
    liquid = { absorption = "0.0022 kg/(m2 s^0.5)" }
    source = "tables"                      # or { storage = "tables", density = "other", ... }

    [film."my paper"]
    permeance = { humidity = "10 50 90 %", permeance = "240 780 3060 ng/(Pa s m2)" }
    source = "tables"

`read_catalogue` reads the names; an entry is built, and its errors shown, when it is asked for.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NoReturn, cast, get_args

from . import curves
from .errors import InputError, nearest
from .materials import CurveLike, Film, Kind, Material, Source
from .quantities import parse, parse_many


@dataclass
class Table:
    """A table of the file that knows where it stands and which of its keys were read."""

    data: dict[str, Any]
    where: str
    density: float | None = None
    seen: set[str] = field(default_factory=set)

    @classmethod
    def of(cls, data: Any, where: str, density: float | None = None) -> Table:
        if not isinstance(data, dict):
            raise InputError(f"a table {{ ... }} is needed here, not {data!r}", where)
        return cls(data, where, density)

    def at(self, key: str) -> str:
        return f"{self.where}, {key}"

    def has(self, key: str) -> bool:
        return key in self.data

    def raw(self, key: str, default: Any = ...) -> Any:
        self.seen.add(key)
        if key not in self.data and default is ...:
            raise InputError(f"'{key}' is missing", self.where)
        return self.data.get(key, default)

    def value(self, key: str, quantity: str, default: Any = ...) -> float:
        raw = self.raw(key, default)
        return raw if raw is default else parse(raw, quantity, self.at(key), self.density)

    def values(self, key: str, quantity: str) -> tuple[float, ...]:
        return parse_many(self.raw(key), quantity, self.at(key), self.density)

    def number(self, key: str, default: Any = ...) -> Any:
        raw = self.raw(key, default)
        if isinstance(raw, bool) or not isinstance(raw, int | float):
            raise InputError(f"'{key}' is {raw!r}; a number without a unit is needed", self.where)
        return float(raw)

    def texts(self, key: str) -> tuple[str, ...]:
        raw = self.raw(key, [])
        if not isinstance(raw, list) or not all(isinstance(v, str) for v in raw):
            raise InputError(f"'{key}' must be a list of texts", self.where)
        return tuple(raw)

    def table(self, key: str) -> Table:
        return Table.of(self.raw(key), self.at(key), self.density)

    def done(self) -> None:
        for key in self.data:
            if key not in self.seen:
                raise InputError(f"'{key}' is not known here; {nearest(key, self.seen)}", self.where)


def _family(table: Table, builders: dict[str, Any], default: str) -> Any:
    name = table.raw("family", default)
    if name not in builders:
        raise InputError(f"family is {name!r}; {nearest(str(name), builders)}", table.where)
    return builders[name]


def _conductivity(table: Table, density: float) -> CurveLike:
    if table.has("family"):
        _family(table, {"wood": None}, "wood")
        gravity = density / 1000.0
        dry = float(curves.wood_conductivity(0.0, gravity))
        return curves.Linear(dry, (float(curves.wood_conductivity(0.1, gravity)) - dry) / (0.1 * density))
    dry = table.value("dry", "conductivity")
    if table.has("per_moisture"):
        return curves.Linear(dry, dry * table.number("per_moisture") / density)
    slope = table.value("slope", "slope", 0.0)
    return curves.Linear(dry, slope) if slope else curves.Constant(dry)


def _storage_points(table: Table, saturation: float, density: float) -> CurveLike:
    limit = table.value("limit", "water_content") if table.has("limit") else None
    return curves.sorption_points(
        table.values("humidity", "humidity"),
        table.values("water", "water_content"),
        saturation,
        table.value("pores", "suction", 1e5),
        table.number("n", 2.0),
        limit,
    )


def _storage_straight(table: Table, saturation: float, density: float) -> CurveLike:
    line = curves.Linear(0.0, table.value("limit", "water_content"), "humidity")
    return curves.WithTail(line, saturation, table.value("pores", "suction", 1e3), table.number("n", 2.0))


def _storage_wood(table: Table, saturation: float, density: float) -> CurveLike:
    wood = curves.WoodSorption(density)
    return curves.WithTail(wood, saturation, table.value("pores", "suction", 1.7e5), table.number("n", 3.0))


def _storage_hansen(table: Table, saturation: float, density: float) -> CurveLike:
    return curves.Hansen(saturation, table.number("a"), table.number("n"))


def _storage_retention(table: Table, saturation: float, density: float) -> CurveLike:
    pores = table.values("pores", "suction")
    share = tuple(table.raw("share", [1.0]))
    return curves.Retention(saturation, tuple(1.0 / p for p in pores), tuple(table.raw("n")), share)


_STORAGE = {
    "points": _storage_points,
    "straight": _storage_straight,
    "wood": _storage_wood,
    "hansen": _storage_hansen,
    "retention": _storage_retention,
}


def _vapour_points(table: Table, q: str) -> CurveLike:
    """Permeability from its own points, or from the permeance of a stated thickness."""
    humidity = table.values("humidity", "humidity")
    if q == "permeability" and table.has("permeance"):
        thickness = table.value("thickness", "thickness")
        values = tuple(thickness * v for v in table.values("permeance", "permeance"))
    else:
        values = table.values(q, q)
    return curves.permeance_points(humidity, values)


def _vapour_constant(table: Table, q: str) -> CurveLike:
    if q == "permeability" and table.has("permeance"):
        return curves.Constant(table.value("thickness", "thickness") * table.value("permeance", "permeance"))
    return curves.Constant(table.value(q, q))


def _vapour_two_level(table: Table, q: str) -> CurveLike:
    start, end = table.value("start", "humidity", 0.6), table.value("end", "humidity", 0.8)
    return curves.TwoLevel(table.value("closed", q), table.value("open", q), start, end)


def _vapour_logistic(table: Table, q: str) -> CurveLike:
    middle, width = table.value("middle", "humidity", 0.65), table.value("width", "fraction", 0.08)
    return curves.Logistic(table.value("closed", q), table.value("open", q), middle, width)


def _vapour_exponential(table: Table, q: str) -> CurveLike:
    return curves.Exponential(table.value("dry", q), table.value("rise", q), table.number("growth"))


def _vapour_cups(table: Table, q: str) -> CurveLike:
    thickness = 1.0
    if q == "permeability":
        thickness = table.value("thickness", "thickness")
    dry, wet = table.value("dry", "permeance"), table.value("wet", "permeance")
    return curves.from_cups(thickness * dry, thickness * wet)


_VAPOUR = {
    "cups": _vapour_cups,
    "points": _vapour_points,
    "constant": _vapour_constant,
    "two-level": _vapour_two_level,
    "logistic": _vapour_logistic,
    "exponential": _vapour_exponential,
}


def _vapour(given: Any, where: str, quantity: str) -> CurveLike:
    if isinstance(given, str):
        return curves.Constant(parse(given, quantity, where))
    table = Table.of(given, where)
    curve = _family(table, _VAPOUR, "points" if table.has("humidity") else "constant")(table, quantity)
    table.done()
    return curve


def _diffusivity(table: Table, saturation: float) -> CurveLike:
    if table.has("absorption"):
        absorption = table.value("absorption", "absorption")
        capillary = table.value("capillary", "water_content", saturation)
        return curves.AbsorptionDiffusivity(absorption, capillary, table.number("factor", 1.0))
    dry = table.value("dry", "liquid_diffusivity")
    return curves.ExponentialDiffusivity(dry, table.number("growth", 0.0), saturation)


def _source(key: Any, about: str, known: dict[str, Any], where: str) -> Source:
    if not isinstance(key, str) or key not in known:
        raise InputError(f"no [source.{key}] is in the file; {nearest(str(key), known)}", where)
    table = Table.of(known[key], f"{where}, source '{key}'")
    kind = table.raw("kind")
    if kind not in get_args(Kind):
        raise InputError(f"kind is {kind!r}; use one of {', '.join(get_args(Kind))}", table.where)
    year = table.raw("year", None)
    source = Source(
        table.raw("authors"), year, table.raw("where"), cast(Kind, kind), table.raw("note", ""), about
    )
    table.done()
    return source


def _sources(entry: Table, known: dict[str, Any]) -> tuple[Source, ...]:
    given = entry.raw("source")
    parts = given.items() if isinstance(given, dict) else [("", given)]
    out = []
    for about, keys in parts:
        for key in keys if isinstance(keys, list) else [keys]:
            out.append(_source(key, about.replace("_", " "), known, entry.at("source")))
    return tuple(out)


def _spread(entry: Table) -> dict[str, tuple[float, float]]:
    spread = entry.raw("spread", {})
    for name, pair in spread.items() if isinstance(spread, dict) else [("spread", spread)]:
        if not (isinstance(pair, list) and len(pair) == 2 and all(isinstance(v, int | float) for v in pair)):
            raise InputError(
                f"spread of '{name}' is {pair!r}; two factors such as [0.5, 2.0] are needed", entry.where
            )
    return {name: (float(low), float(high)) for name, (low, high) in spread.items()}


def _common(entry: Table, known: dict[str, Any]) -> dict[str, Any]:
    span = entry.values("humidity_range", "humidity") if entry.has("humidity_range") else (0.0, 1.0)
    if len(span) != 2:
        raise InputError("two humidities are needed, such as '10 90 %'", entry.at("humidity_range"))
    return {
        "sources": _sources(entry, known),
        "humidity_range": span,
        "spread": _spread(entry),
        "tags": entry.texts("tags"),
        "aliases": entry.texts("aliases"),
    }


@dataclass(frozen=True)
class Entry:
    """One entry of a catalogue file, built when called.

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

    def __call__(self) -> Material | Film:
        """Return the material or film.

        Raises
        ------
        InputError
            With file, entry and key, and what would be right.
        """
        entry = Table.of(self.data, self.where)
        try:
            built = self._material(entry) if self.kind == "material" else self._film(entry)
        except InputError as error:
            raise error if self.where in error.where else error.at(self.where) from None
        entry.done()
        return built

    def _material(self, entry: Table) -> Material:
        density = entry.density = entry.value("density", "density")
        saturation = entry.value("saturation", "water_content")
        conductivity, storage = entry.table("conductivity"), entry.table("storage")
        parts: dict[str, Any] = {
            "conductivity": _conductivity(conductivity, density),
            "storage": _family(storage, _STORAGE, "points")(storage, saturation, density),
            "permeability": _vapour(entry.raw("permeability"), entry.at("permeability"), "permeability"),
        }
        conductivity.done()
        storage.done()
        if entry.has("liquid"):
            liquid = entry.table("liquid")
            parts["diffusivity"] = _diffusivity(liquid, saturation)
            liquid.done()
        return Material(
            self.name,
            density,
            entry.value("heat_capacity", "heat_capacity"),
            saturation=saturation,
            conductivity_slope=entry.number("conductivity_slope", 0.0),
            storage_temperature=entry.number("storage_temperature", 0.0),
            **parts,
            **_common(entry, self.known),
        )

    def _film(self, entry: Table) -> Film:
        reverse = entry.raw("reverse", None)
        return Film(
            self.name,
            _vapour(entry.raw("permeance"), entry.at("permeance"), "permeance"),
            None if reverse is None else _vapour(reverse, entry.at("reverse"), "permeance"),
            thickness=entry.value("thickness", "thickness", 0.0),
            **_common(entry, self.known),
        )


def _refuse(message: str, where: str) -> NoReturn:
    raise InputError(message, where)


def read_catalogue(path: str | Path) -> dict[str, Entry]:
    """Read the names of a catalogue file.

    Parameters
    ----------
    path : str or Path
        A TOML file with tables `material` and `film`, or a folder of such files.

    Returns
    -------
    dict of str to Entry
        Each entry is built when it is called.

    Raises
    ------
    InputError
        The file cannot be read, is no TOML, or has a table that is not known.
    """
    path = Path(path)
    if path.is_dir():
        out: dict[str, Entry] = {}
        for part in sorted(path.glob("*.toml")):
            for name, entry in read_catalogue(part).items():
                if name in out:
                    _refuse(f"'{name}' is also in {out[name].where}", part.name)
                out[name] = entry
        return out
    try:
        with path.open("rb") as stream:
            data = tomllib.load(stream)
    except OSError as error:
        raise InputError(f"cannot be read: {error.strerror}", str(path)) from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise InputError(f"is no valid TOML: {error}", str(path)) from None
    for key in data:
        if key not in ("source", "material", "film", "note"):
            _refuse(
                f"[{key}] is not known; {nearest(key, ('source', 'material', 'film', 'note'))}", path.name
            )
    entries: dict[str, Entry] = {}
    for kind in ("material", "film"):
        for name, table in Table.of(data.get(kind, {}), f"{path.name}, {kind}").data.items():
            if name in entries:
                _refuse(f"'{name}' is both a material and a film", path.name)
            entries[name] = Entry(name, kind, table, data.get("source", {}), f"{path.name}, {kind} '{name}'")
    return entries
