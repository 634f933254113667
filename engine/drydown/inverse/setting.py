"""A number of a case by its path: read, and set in a copy of the case.

The dialect is that of `drydown.casefile.paths`, so that ``layer.OSB.thickness`` means the same in a variant, an axis of
a study and here. Beside the keys of a case file a path may end in what no file states as one number:

``layer.OSB.permeability_factor``
    Factor on a property: `permeability`, `liquid`, `conductivity`, `storage` of a material, `permeance` of a film.
``layer."my film".permeance.open``, ``layer."my film".permeance.3``
    A parameter of the curve of a film by its name, or the value of one of its points, counted from 1.
``outside.rain_exposure``, ``inside.humidity``, ``start.temperature``
    Numbers of sides and start, also where the file leaves them at their defaults.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import fields, is_dataclass, replace
from typing import Any, NamedTuple

import numpy as np

from ..arrays import Array
from ..case.assembly import Assembly, Layer
from ..case.case import Case
from ..casefile.layers import humidity_at
from ..casefile.paths import resolve
from ..casefile.schema import FIELDS, SECTIONS, loads
from ..casefile.values import stated
from ..errors import InputError, nearest
from ..frozen import FrozenMap
from ..kernel.humidity import PHI_HIGH, PHI_LOW, humidity_of, u_of
from ..materials.curves import Points
from ..materials.model import Film, Material, argument_of
from ..trial.uncertainty import Scaled

#: Properties that a factor can be put on, by what they are of, and the fields that hold their curves.
FACTORS: dict[str, tuple[str, ...]] = {
    "permeability": ("permeability",),
    "liquid": ("liquid", "diffusivity"),
    "conductivity": ("conductivity",),
    "storage": ("storage",),
    "permeance": ("permeance", "permeance_outward"),
}
_SUFFIX = "_factor"


class Number(NamedTuple):
    """A number of a case: its value in SI, and how a case is made with another."""

    value: float
    put: Callable[[float], Case]


def number(case: Case, path: str) -> Number:
    """Return a number of a case by its path.

    Parameters
    ----------
    case : Case
    path : str
        As above.

    Raises
    ------
    InputError
        If the path leads nowhere, or to what is no continuous number.
    """
    place = resolve(_document(case), path, path)
    section, *rest = place
    if section == "layer":
        return _of_layer(case, int(rest[0]), tuple(str(r) for r in rest[1:]), path)
    if section == "wetting":
        return _of_wetting(case, int(rest[0]), str(rest[1]), path)
    if section in loads():
        return _of_load(case, str(section), int(rest[0]), str(rest[1]), path)
    if section in ("outside", "inside"):
        return _of_side(case, str(section), str(rest[-1]), path)
    if section == "start":
        return _of_start(case, str(rest[-1]), path)
    raise InputError(f"'{section}' holds no number that can be free; name a layer, a load, a side or the start", path)


def each_once(case: Case, paths: Sequence[str]) -> None:
    """Refuse paths of which two lead to the same number.

    Parameters
    ----------
    case : Case
    paths : sequence of str
        Those of the wall, not of its sensors, may be written in several ways.

    Raises
    ------
    InputError
        Naming the second.
    """
    document = _document(case)
    met: set[tuple[object, ...]] = set()
    for path in paths:
        place: tuple[object, ...] = (path,) if path.startswith("sensor.") else tuple(resolve(document, path, path))
        if place in met:
            raise InputError("it is named twice; two inputs would share what it does. Name it once", path)
        met.add(place)


def _document(case: Case) -> dict[str, Any]:
    """Return the names of a case as a case file would hold them, for paths to be found in."""
    layers: list[dict[str, Any]] = []
    for part in case.assembly.parts:
        if isinstance(part, Layer):
            layers.append({"name": part.name, "material": part.material.name})
        else:
            layers.append({"name": part.name, "film": part.name, "permeance": {}})
    out: dict[str, Any] = {"layer": layers, "wetting": [{"layer": w.layer} for w in case.wettings]}
    out |= {"outside": {}, "inside": {}, "start": {}}
    for kind, made in loads().items():
        out[kind] = [{"name": x.label, "layer": getattr(x, "layer", "")} for x in case.loads if type(x) is made]
    return out


def _with_part(case: Case, at: int, part: Layer | Film) -> Case:
    parts = case.assembly.parts
    return replace(case, assembly=Assembly((*parts[:at], part, *parts[at + 1 :]), case.assembly.name))


def _of_layer(case: Case, at: int, keys: tuple[str, ...], path: str) -> Number:
    part = case.assembly.parts[at]
    key = keys[0]
    if isinstance(part, Film) and key == "permeance" and len(keys) == 2:
        return _of_curve(case, at, part, keys[1], path)
    if key.endswith(_SUFFIX):
        return _factor(case, at, part, key.removesuffix(_SUFFIX), path)
    if isinstance(part, Layer) and key == "thickness":
        made = lambda x: replace(part, thickness=x)  # noqa: E731
        return Number(part.thickness, lambda x: _with_part(case, at, _remembered(part, key, x, made)))
    if isinstance(part, Layer) and key in ("start_humidity", "start_water"):
        return _start_of(case, part, key, path)
    known = [f"{name}{_SUFFIX}" for name in FACTORS]
    known += ["thickness", "start_humidity", "start_water"] if isinstance(part, Layer) else []
    raise InputError(f"'{key}' is no number of '{part.name}' that can be free; {nearest(key, known)}", path)


def _factor(case: Case, at: int, part: Layer | Film, name: str, path: str) -> Number:
    entry: Material | Film = part.material if isinstance(part, Layer) else part
    curves = [f for f in FACTORS.get(name, ()) if getattr(entry, f, None) is not None]
    if not curves:
        has = [n for n, names in FACTORS.items() if any(getattr(entry, f, None) is not None for f in names)]
        raise InputError(f"'{entry.name}' has no {name}; {nearest(name, has)}", path)

    def made(x: float) -> Layer | Film:
        new: dict[str, Any] = {f: Scaled(getattr(entry, f), x) for f in curves}
        if name == "storage" and isinstance(entry, Material):
            new["saturation"] = entry.saturation * x
        changed: Any = replace(entry, **new)
        return changed if isinstance(part, Film) else replace(part, material=changed)

    return Number(1.0, lambda x: _with_part(case, at, _remembered(part, name, x, made)))


#: Layers and films that were made, so that one that is asked for again is the same object and its tables are known.
_MEMORY: dict[tuple[int, str, float], tuple[Layer | Film, Layer | Film]] = {}
_MEMORY_SIZE = 1000


def _remembered(part: Layer | Film, what: str, x: float, made: Callable[[float], Layer | Film]) -> Layer | Film:
    """Return the part with a number changed, the same object for the same number."""
    key = id(part), what, x
    known = _MEMORY.get(key)
    if known is None or known[0] is not part:
        if len(_MEMORY) >= _MEMORY_SIZE:
            _MEMORY.clear()
        known = _MEMORY[key] = (part, made(x))
    return known[1]


def _of_curve(case: Case, at: int, film: Film, key: str, path: str) -> Number:
    curve: Any = film.permeance
    if isinstance(curve, Points) and key.isdecimal():
        i = int(key) - 1
        if not 0 <= i < len(curve.y):
            raise InputError(f"the curve of '{film.name}' has {len(curve.y)} points, counted from 1", path)

        def point(x: float) -> Layer | Film:
            return replace(film, permeance=replace(curve, y=(*curve.y[:i], x, *curve.y[i + 1 :])))

        return Number(float(curve.y[i]), lambda x: _with_part(case, at, _remembered(film, key, x, point)))
    names = [f.name for f in fields(curve) if isinstance(getattr(curve, f.name), float)] if is_dataclass(curve) else []
    if key not in names:
        raise InputError(f"the curve of '{film.name}' has no '{key}'; {nearest(key, names)}", path)

    def curved(x: float) -> Layer | Film:
        return replace(film, permeance=replace(curve, **{key: x}))

    return Number(float(getattr(curve, key)), lambda x: _with_part(case, at, _remembered(film, key, x, curved)))


def _start_of(case: Case, part: Layer, key: str, path: str) -> Number:
    start = case.initial
    humidity = start.layers.get(part.name, start.humidity)

    def put(x: float) -> Case:
        phi = x if key == "start_humidity" else humidity_of_water(part.material, x, path)
        phi = min(max(phi, PHI_LOW), PHI_HIGH)
        return replace(case, initial=replace(start, layers=FrozenMap({**start.layers, part.name: phi})))

    if key == "start_humidity":
        return Number(humidity, put)
    return Number(water_at(part.material, humidity), put)


def water_at(material: Material, humidity: float) -> float:
    """Return the water that a material holds at a humidity and 296.15 K [kg/m3]."""
    from ..case.sides import Physics

    physics = Physics()
    x = np.array([humidity])
    if argument_of(material.storage) == "suction":
        x = -physics.water_density * physics.vapour_gas_constant * 296.15 * np.log(x)
    found: Array = np.asarray(material.storage(x), dtype=float)
    return float(found[0])


def humidity_of_water(material: Material, water: float, where: str = "") -> float:
    """Return the humidity [-] at which a material holds a water content [kg/m3]: the inverse of `water_at`, smooth.

    Raises
    ------
    InputError
        If the material cannot hold as little or as much.
    """
    from scipy.optimize import brentq

    near = u_of(humidity_at(material, water, where))  # read from points of a table

    def off(u: float) -> float:
        return water_at(material, float(humidity_of(u))) - water

    low, high = near - 0.02, near + 0.02
    if off(low) * off(high) > 0.0:  # at an end of the curve, or where it is flat
        return float(humidity_of(near))
    return float(humidity_of(brentq(off, low, high, xtol=1e-13)))


def _of_wetting(case: Case, at: int, key: str, path: str) -> Number:
    event = case.wettings[at]
    if key not in ("amount", "depth"):
        raise InputError(
            f"'{key}' of a wetting is no number that can be free; {nearest(key, ('amount', 'depth'))}", path
        )

    def put(x: float) -> Case:
        given: dict[str, Any] = {key: x}
        new = replace(event, **given)
        return replace(case, wettings=(*case.wettings[:at], new, *case.wettings[at + 1 :]))

    return Number(float(getattr(event, key)), put)


def _of_load(case: Case, kind: str, at: int, key: str, path: str) -> Number:
    positions = [i for i, load in enumerate(case.loads) if type(load) is loads()[kind]]
    i = positions[at]
    load = case.loads[i]
    model = f"{kind} {getattr(load, load.section.chooser)}" if load.section.chooser else kind
    states = {k: v for name in {kind: 0, model: 0} for k, v in stated(load, name).items() if v != ""}
    given = load.to_keys(states, case.outside)
    value = given.get(key, getattr(load, FIELDS.get(key, key), None))
    if isinstance(value, bool) or not isinstance(value, int | float):
        numbers = [k for k, v in given.items() if isinstance(v, float)]
        raise InputError(f"'{key}' is no number of it that can be free; {nearest(key, numbers)}", path)

    if model == "air_leak screening" and key in ("q50", "n50", "exponent"):
        raise InputError("a screening leak goes by classes, not by its figure; write way = 'flow' to free it", path)

    def put(x: float) -> Case:
        new = loads()[kind].from_keys({**given, key: x}, case.assembly, case.outside)
        return replace(case, loads=(*case.loads[:i], new, *case.loads[i + 1 :]))

    return Number(float(value), put)


def _of_side(case: Case, name: str, key: str, path: str) -> Number:
    side = getattr(case, name)
    field = FIELDS.get(key, key)
    trail = _trail(side, field)
    if trail is None:
        known = [k for section, keys in SECTIONS.items() if section.startswith(name) for k in keys]
        raise InputError(f"'{key}' is no number of this {name} that can be free; {nearest(key, known)}", path)
    holder = side
    for step in trail:
        holder = getattr(holder, step)
    return Number(float(getattr(holder, field)), lambda x: replace(case, **{name: _put_in(side, trail, field, x)}))


def _trail(thing: Any, field: str) -> tuple[str, ...] | None:
    """Return through which fields of dataclasses a number is reached; None: not at all."""
    if not is_dataclass(thing):
        return None
    names = [f.name for f in fields(thing) if f.init]
    if field in names:
        value = getattr(thing, field)
        if isinstance(value, int | float) and not isinstance(value, bool):
            return ()
    for name in names:
        below = _trail(getattr(thing, name), field)
        if below is not None:
            return (name, *below)
    return None


def _put_in(thing: Any, trail: tuple[str, ...], field: str, x: float) -> Any:
    if not trail:
        return replace(thing, **{field: x})
    return replace(thing, **{trail[0]: _put_in(getattr(thing, trail[0]), trail[1:], field, x)})


def _of_start(case: Case, key: str, path: str) -> Number:
    if key not in ("temperature", "humidity"):
        raise InputError(f"'{key}' is no number of the start; {nearest(key, ('temperature', 'humidity'))}", path)
    start = case.initial

    def put(x: float) -> Case:
        given: dict[str, Any] = {key: x}
        return replace(case, initial=replace(start, **given))

    return Number(float(getattr(start, key)), put)
