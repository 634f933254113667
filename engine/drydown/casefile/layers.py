"""The layers and films of a case file, read and written, and the materials and films that come with it."""

from __future__ import annotations

import difflib
from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any

import numpy as np

from ..case.assembly import THICKEST, THINNEST, Assembly, Layer
from ..case.partial_cover import PartlyCovering, between_airs, partly_covering
from ..errors import InputError
from ..materials.model import Film, Material, argument_of
from ..quantities import parse
from .schema import CATALOGUE
from .values import read_section, stated, within, write_section

Given = dict[str, Any]
#: Keys of a layer that are for criteria alone.
_OF_JUDGEMENT = ("judged", "mould_class", "critical_saturation")


def own_entries(data: Given, catalogues: tuple[str, ...], path: Path) -> dict[str, Any]:
    """Return the materials and films that come with the case file by name, each built when called.

    Parameters
    ----------
    data : dict
        The case file; its sections `material`, `film` and `source` follow the form of a catalogue file, and
        an entry without a source is marked as assumed.
    catalogues : tuple of str
        Catalogue files, seen from the case file.
    path : Path
        The case file.
    """
    from ..catalogue.file import Entry, read_catalogue
    from ..catalogue.like import whole_table

    own: dict[str, Any] = {}
    for name in catalogues:
        with within(f"{path}, catalogues"):
            own |= read_catalogue(path.parent / name)
    for kind in CATALOGUE:
        tables = data.get(kind, {})
        if not isinstance(tables, dict) or not all(isinstance(t, dict) for t in tables.values()):
            raise InputError(f'write [{kind}."its name"] above the keys of each', f"{path}, {kind}")
    given = {"authors": "given in the case file", "where": path.name, "kind": "assumed"}
    sources = {"given": given, **data.get("source", {})}
    for kind in ("material", "film"):
        tables = data.get(kind, {})
        for name in tables:
            where = f"{path}, {kind} '{name}'"
            whole = {"source": "given", **whole_table(tables, name, where, kind)}
            own[name] = Entry(name, kind, whole, sources, where)
    return own


def _find(name: str, own: Given, where: str, kind: str) -> Material | Film:
    """Return a material or film of one's own, or one that is installed."""
    from ..materials.contract import problems
    from ..plugins import materials

    if name not in own:
        try:
            installed: Material | Film = materials().get_entry(name, where, kind)
            return installed
        except InputError:
            close = difflib.get_close_matches(name, own, 1, 0.6)
            if close:
                message = f"'{name}' is not known; did you mean your own '{close[0]}'?"
                raise InputError(message, where) from None
            raise
    entry: Material | Film = own[name]()
    wrong = problems(entry)
    if wrong:
        raise InputError(wrong[0], own[name].where)
    return entry


def read_layers(
    tables: list[Given],
    own: Given,
    file: str,
    built: dict[str, Material | Film] | None = None,
    gaps: Collection[str] = (),
) -> tuple[tuple[Layer | Film, ...], dict[str, float]]:
    """Read the list of layers, from outside to inside.

    Parameters
    ----------
    tables : list of dict
    own : dict
        See `own_entries`.
    file : str
    built : dict, optional
        Entries by name that are built already.
    gaps : collection of str
        Names of the layers that are ventilated.

    Returns
    -------
    parts : tuple of Layer or Film
    humidity : dict
        Relative humidity [-] at the start, by name, of the layers that state it.
    """
    parts: list[Layer | Film] = []
    covered: dict[int, tuple[float, str]] = {}
    humidity: dict[str, float] = {}
    numbers: dict[str, int] = {}
    built = {} if built is None else built
    for i, table in enumerate(tables, 1):
        where = f"{file}, layer {i}"
        given = read_section(table, "layer", where)
        if ("material" in given) == ("film" in given):
            what = "material and film are both there" if "film" in given else "what it is made of is missing"
            raise InputError(f'{what}; give one, such as material = "OSB"', where)
        kind = "film" if "film" in given else "material"
        name = given[kind]
        if name not in built:
            built[name] = _find(name, own, f"{where}, {kind}", kind)
        if kind == "film":
            if "covered" in given:
                covered[len(parts)] = given.pop("covered"), f"{where}, covered"
            parts.append(_film(built[name], given, where))
            continue
        if "covered" in given:
            raise InputError("a film may cover part of the area, a layer not; leave it out", f"{where}, covered")
        layer = _layer(built[name], given, table, where)
        if layer.name in numbers:
            raise InputError(
                f"layers {numbers[layer.name]} and {i} are both called '{layer.name}'; "
                'give one a name of its own, such as name = "inner board"',
                where,
            )
        numbers[layer.name] = i
        parts.append(layer)
        if "start_humidity" in given and "start_water" in given:
            raise InputError("start_humidity and start_water are both there; give one", where)
        if "start_humidity" in given:
            humidity[layer.name] = given["start_humidity"]
        elif "start_water" in given:
            at = f"{where}, start_water"
            water = parse(given["start_water"], "water_content", at, layer.material.density)
            humidity[layer.name] = humidity_at(layer.material, water, at)
    if not numbers:
        raise InputError("no layer has a thickness; list them from outside to inside, each under [[layer]]", file)
    for i, (share, where) in covered.items():
        film = parts[i]
        assert isinstance(film, Film)
        with within(where):
            parts[i] = partly_covering(film, share, between_airs(parts, i, gaps))
    return tuple(parts), humidity


def _layer(entry: Material | Film, given: Given, table: Given, where: str) -> Layer:
    if not isinstance(entry, Material):
        message = f"'{entry.name}' is a film, which has no thickness; write film = \"{entry.name}\" instead"
        raise InputError(message, f"{where}, material")
    if "thickness" not in given:
        raise InputError(f"'thickness' of '{entry.name}' is missing, such as thickness = \"140 mm\"", where)
    if not THINNEST <= given["thickness"] < THICKEST:
        least = f"{1e3 * THINNEST:g} mm"
        raise InputError(
            f"{table['thickness']!r}: it must be at least {least} and below {THICKEST:g} m, such as '140 mm'",
            f"{where}, thickness",
        )
    from ..plugins import materials

    # A word of the trade stays the name of the layer, so that the wetting can be said with it and answers repeat it.
    said: str = given["material"] if materials().is_word(given["material"]) else entry.name
    own = {key: given[key] for key in _OF_JUDGEMENT if key in given}
    with within(where):
        return Layer(entry, given["thickness"], given.get("name", said), given.get("cells"), **own)


def _film(entry: Material | Film, given: Given, where: str) -> Film:
    if not isinstance(entry, Film):
        message = f"'{entry.name}' is a material; write material = \"{entry.name}\" and a thickness"
        raise InputError(message, f"{where}, film")
    for key in given:
        if key != "film":
            raise InputError(f"a film has no {key.replace('_', ' ')} here; leave it out", f"{where}, {key}")
    return entry


def humidity_at(material: Material, water: float, where: str = "") -> float:
    """Return the relative humidity [-] at which a material holds a water content [kg/m3], at 296.15 K.

    Raises
    ------
    InputError
        If the material cannot hold as little or as much.
    """
    from ..case.sides import Physics

    physics = Physics()

    z = np.linspace(2.0, -17.0, 4001)
    by_suction = argument_of(material.storage) == "suction"
    x = physics.water_density * physics.vapour_gas_constant * 296.15 * np.exp(z) if by_suction else np.exp(-np.exp(z))
    held = np.asarray(material.storage(x), dtype=float)
    if not held[0] <= water <= held[-1]:
        raise InputError(
            f"'{material.name}' can hold {held[0]:.3g} to {held[-1]:.4g} kg/m3, not {water:.4g} kg/m3",
            where,
        )
    return float(np.exp(-np.exp(np.interp(water, held, z))))


def write_layers(
    assembly: Assembly, start: Mapping[str, float], known: dict[str, Any], gaps: Collection[str] = ()
) -> list[str]:
    """Return the list of layers as text.

    Parameters
    ----------
    assembly : Assembly
    start : dict
        Relative humidity [-] at the start, by name, of the layers that state it.
    known : dict
        Materials and films of the catalogues that go with the file, by name.
    gaps : collection of str
        Names of the layers that are ventilated.

    Raises
    ------
    InputError
        A material or film that the file could not name.
    """
    parts = assembly.parts
    return [
        _write_film(parts, i, known, gaps) if isinstance(part, Film) else _write_layer(part, start, known)
        for i, part in enumerate(parts)
    ]


def _write_film(parts: tuple[Layer | Film, ...], place: int, known: dict[str, Any], gaps: Collection[str]) -> str:
    film = parts[place]
    keys: Given = {"film": film.name}
    curve = getattr(film, "permeance", None)
    if isinstance(curve, PartlyCovering):
        if partly_covering(curve.film, curve.covered, between_airs(parts, place, gaps)) != film:
            raise InputError("it covers part of another assembly, so a case file cannot state it", f"'{film.name}'")
        film, keys = curve.film, {"film": curve.film.name, "covered": curve.covered}
    assert isinstance(film, Film)
    _check_known(film, known)
    return write_section("[[layer]]", keys, "layer")


def _write_layer(layer: Layer, start: Mapping[str, float], known: dict[str, Any]) -> str:
    _check_known(layer.material, known, layer.thickness)
    keys: Given = {"material": layer.material.name, "thickness": layer.thickness}
    if layer.name != layer.material.name:
        keys["name"] = layer.name
    if layer.cells is not None:
        keys["cells"] = layer.cells
    if layer.name in start:
        keys["start_humidity"] = start[layer.name]
    keys |= {key: value for key, value in stated(layer, "layer").items() if key in _OF_JUDGEMENT}
    return write_section("[[layer]]", keys, "layer")


def _check_known(entry: Material | Film, known: dict[str, Any], thickness: float = 0.0) -> None:
    from ..plugins import materials

    if isinstance(entry, Material) and entry.at_thickness is not None:
        found = known[entry.name]() if entry.name in known else materials().get(entry.name)
        there = found is not None and Layer(found, thickness).material == entry
    elif entry.name in known:
        there = known[entry.name]() == entry
    else:
        there = materials().get(entry.name) == entry
    if not there:
        message = "it is not as installed, so a case file cannot name it; put it into a catalogue of your own"
        raise InputError(message, f"'{entry.name}'")
