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

An entry may begin with ``like = "my board"``: it has what that entry has, of this file or installed, but for its
aliases and for what it gives itself.

`read_catalogue` reads the names; an entry is built, and its errors shown, when it is asked for.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, NoReturn, cast, get_args

from ..errors import InputError, nearest
from ..materials.curves import Laminate, TemperatureFactor, TemperatureGrowth, frozen_gain
from ..materials.model import CurveLike, Film, Kind, Material, Source
from ..toml import read_toml
from . import curves as catalogue_curves
from .like import whole_table
from .table import Given, Table

#: File of a folder whose sources all its catalogues may name.
SOURCES = "sources.toml"


def _source(key: Any, about: str, known: dict[str, Any], where: str) -> Source:
    if isinstance(key, dict):
        table = Table.of(key, where)  # taken over from another file
    elif not isinstance(key, str) or key not in known:
        raise InputError(f"no [source.{key}] is in the file; {nearest(str(key), known)}", where)
    else:
        table = Table.of(known[key], f"{where}, source '{key}'")
    kind = table.raw("kind")
    if kind not in get_args(Kind):
        raise InputError(f"kind is {kind!r}; use one of {', '.join(get_args(Kind))}", table.where)
    year = table.raw("year", None)
    source = Source(table.raw("authors"), year, table.raw("where"), cast(Kind, kind), table.raw("note", ""), about)
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
            raise InputError(f"spread of '{name}' is {pair!r}; two factors such as [0.5, 2.0] are needed", entry.where)
    return {name: (float(low), float(high)) for name, (low, high) in spread.items()}


def _reasons(entry: Table) -> dict[str, str]:
    given = entry.raw("unusual", {})
    if not isinstance(given, dict) or not all(isinstance(text, str) and text for text in given.values()):
        raise InputError(
            'it names properties with their reasons: { absorption = "extracted with solvent" }', entry.where
        )
    return dict(given)


def _common(entry: Table, known: dict[str, Any]) -> dict[str, Any]:
    span = entry.values("humidity_range", "humidity") if entry.has("humidity_range") else (0.0, 1.0)
    if len(span) != 2:
        raise InputError("two humidities are needed, such as '10 90 %'", entry.at("humidity_range"))
    return {
        "sources": _sources(entry, known),
        "humidity_range": span,
        "spread": _spread(entry),
        "unusual": _reasons(entry),
        "tags": entry.texts("tags"),
        "aliases": entry.texts("aliases"),
    }


class Entry(Given):
    """One entry of a catalogue file, built when called."""

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
        if not density > 0.0:
            raise InputError(f"density is {density:g} kg/m3; it must be greater than 0", entry.at("density"))
        saturation = entry.value("saturation", "water_content")
        conductivity, storage = entry.table("conductivity"), entry.table("storage")
        is_gap = conductivity.raw("family", "") == "gap"
        at_thickness = catalogue_curves.gap(conductivity)[0] if is_gap else None
        parts: dict[str, Any] = {
            "conductivity": catalogue_curves.conductivity(conductivity, density),
            "storage": catalogue_curves.storage(storage, saturation, density),
            "permeability": catalogue_curves.vapour(
                entry.raw("permeability"), entry.at("permeability"), "permeability"
            ),
        }
        conductivity.done()
        storage.done()
        if entry.has("liquid"):
            liquid = entry.table("liquid")
            vapour = entry.raw("permeability"), entry.at("permeability")
            measured = catalogue_curves.measured_up_to(*vapour)
            parts["permeability"] = catalogue_curves.held(parts["permeability"], *vapour)
            parts |= catalogue_curves.liquid(liquid, saturation, parts["storage"], measured)
            liquid.done()
        freezing = _flag(entry, "freezing")
        return Material(
            self.name,
            density,
            entry.value("heat_capacity", "heat_capacity"),
            saturation=saturation,
            conductivity_temperature_coefficient=entry.number("conductivity_temperature_coefficient", 0.0),
            conductivity_temperature=_of_temperature(entry),
            sorption_temperature_exponent=entry.number("sorption_temperature_exponent", 0.0),
            freezing=freezing,
            frozen_conductivity=entry.number("frozen_conductivity", frozen_gain(saturation) if freezing else 1.0),
            mould_class=entry.raw("mould_class", ""),
            critical_saturation=entry.number("critical_saturation") if entry.has("critical_saturation") else None,
            sheds_rain=_flag(entry, "sheds_rain"),
            at_thickness=at_thickness,
            **parts,
            **_common(entry, self.known),
        )

    def _film(self, entry: Table) -> Film:
        permeance, permeance_outward = _ways(entry)
        growth = entry.number("temperature_growth", 0.0)
        return Film(
            self.name,
            permeance,
            permeance_outward,
            TemperatureGrowth(growth) if growth else None,
            thickness=entry.value("thickness", "thickness", 0.0),
            **_common(entry, self.known),
        )


def _of_temperature(entry: Table) -> TemperatureFactor | None:
    """Return the factor of temperature on the conductivity, where the entry has a table of it."""
    key = "conductivity_temperature"
    if not entry.has(key):
        return None
    if entry.has("conductivity_temperature_coefficient"):
        raise InputError("conductivity_temperature_coefficient is there too; give one", entry.at(key))
    given = entry.table(key)
    try:
        found = TemperatureFactor(given.values("temperature", "temperature"), given.numbers("factor"))
    except InputError as error:
        raise error if error.where else error.at(entry.at(key)) from None
    given.done()
    return found


def _flag(entry: Table, key: str) -> bool:
    if not entry.has(key):
        return False
    value = entry.raw(key)
    if not isinstance(value, bool):
        raise InputError(f"{value!r} is neither true nor false", entry.at(key))
    return value


def _ways(entry: Table) -> tuple[CurveLike, CurveLike | None]:
    """Return the permeance for both directions of flow: one curve, two, or two plies."""
    vapour = catalogue_curves.vapour
    if not (entry.has("outer_ply") or entry.has("inner_ply")):
        permeance_outward = entry.raw("permeance_outward", None)
        return (
            vapour(entry.raw("permeance"), entry.at("permeance"), "permeance"),
            None
            if permeance_outward is None
            else vapour(permeance_outward, entry.at("permeance_outward"), "permeance"),
        )
    for key in ("permeance", "permeance_outward"):
        if entry.has(key):
            raise InputError(f"outer_ply and inner_ply give the permeance; leave out '{key}'", entry.where)
    outer, inner = (vapour(entry.raw(k), entry.at(k), "permeance") for k in ("outer_ply", "inner_ply"))
    dry = entry.value("drier_side", "humidity", 0.5)
    return Laminate(outer, inner, dry), Laminate(inner, outer, dry)


def _refuse(message: str, where: str) -> NoReturn:
    raise InputError(message, where)


def read_catalogue(path: str | Path) -> dict[str, Entry]:
    """Read the names of a catalogue file.

    Parameters
    ----------
    path : str or Path
        A TOML file with tables `material` and `film`, or a folder of such files, which may all name the sources in its
        file `sources.toml`.

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
        common = path / SOURCES
        shared = _shared(common) if common.is_file() else {}
        for part in sorted(path.glob("*.toml")):
            for name, entry in _entries(part, shared).items():
                if name in out:
                    _refuse(f"'{name}' is also in {out[name].where}", part.name)
                out[name] = entry
        return out
    return _entries(path, {})


def _shared(path: Path) -> dict[str, Any]:
    return Table.of(read_toml(path).get("source", {}), f"{path.name}, source").data


def _entries(path: Path, shared: dict[str, Any]) -> dict[str, Entry]:
    """Return the entries of one file; `shared` are sources that it may name beside its own."""
    data = read_toml(path)
    sources = {**shared, **Table.of(data.get("source", {}), f"{path.name}, source").data}
    for key in data:
        if key not in ("source", "material", "film", "note"):
            _refuse(f"[{key}] is not known; {nearest(key, ('source', 'material', 'film', 'note'))}", path.name)
    entries: dict[str, Entry] = {}
    for kind in ("material", "film"):
        tables = Table.of(data.get(kind, {}), f"{path.name}, {kind}").data
        for name in tables:
            where = f"{path.name}, {kind} '{name}'"
            if name in entries:
                _refuse(f"'{name}' is both a material and a film", path.name)
            entries[name] = Entry(name, kind, whole_table(tables, name, where, kind), sources, where)
    return entries
