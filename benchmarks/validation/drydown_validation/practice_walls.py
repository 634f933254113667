"""Walls, roofs and floors drawn at random as practice builds them; the judge of accuracy on walls that nobody tuned.

A seed and a number give a case: a family of constructions, its materials by their tags in the library, thicknesses
within what is usual, films where builders put them, a climate and a way to face it, a room, a start that may be wet, a
leak or an event. The ranges are common practice; nothing else about a wall is written down here. `drawn_walls` draws
what no one would build, for robustness; this module draws what is built, for accuracy.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
from drydown import Assembly, Case, Film, Initial, Layer, Material, Wetting
from drydown.case.air_leakage import Leakage, LeakPath
from drydown.case.loads import AirLeak, Load, RainShare, VentilatedGap
from drydown.plugins import climates, materials
from drydown.sides.exposure import Exposure, Outdoor
from drydown.sides.ground import Ground
from drydown.sides.indoor import (
    CEILING,
    FLOOR,
    AirConditioned,
    AnnualSine,
    Constant,
    FromOutdoor,
    HumidityClass,
    Indoor,
)

Array = np.ndarray
Part = Film | tuple[Material, float]
Draw = np.random.Generator
#: Permeance between a paper and a vapour barrier [kg/(m2 s Pa)]: about 1 US perm (57.2 ng/(s m2 Pa)).
RETARDS = 5.7e-11
#: Roofing lets through less than this: 0.1 US perm, class I of the building codes (from memory).
TIGHT_FILM = 5.7e-12


@lru_cache(maxsize=1)
def _library() -> tuple[dict[str, tuple[Material, ...]], tuple[Film, ...], tuple[Film, ...], tuple[Film, ...]]:
    """Return materials by tag; films that let vapour pass, that retard it, that stop it."""
    by_tag: dict[str, list[Material]] = {}
    films: list[Film] = []
    for name in sorted(materials().plugins["drydown"]):
        entry = materials().get_entry(f"drydown:{name}")
        if isinstance(entry, Film):
            films.append(entry)
            continue
        for tag in entry.tags:
            by_tag.setdefault(tag, []).append(entry)
    permeance = [float(np.asarray(f.permeance(np.array([0.5])))[0]) for f in films]
    return (
        {tag: tuple(found) for tag, found in by_tag.items()},
        tuple(f for f, p in zip(films, permeance, strict=True) if p > RETARDS),
        tuple(f for f, p in zip(films, permeance, strict=True) if TIGHT_FILM < p <= RETARDS),
        tuple(f for f, p in zip(films, permeance, strict=True) if p <= TIGHT_FILM),
    )


def _pick(draw: Draw, choices: Any) -> Any:
    return choices[int(draw.integers(len(choices)))]


def _some(draw: Draw, tag: str, *without: str) -> Material:
    """Return a material that carries a tag and none of the others."""
    found: Material = _pick(draw, [m for m in _library()[0][tag] if not set(without) & set(m.tags)])
    return found


def _open(draw: Draw) -> Film:
    found: Film = _pick(draw, _library()[1])
    return found


def _tight(draw: Draw) -> Film:
    found: Film = _pick(draw, _library()[3])
    return found


def _mm(draw: Draw, low: float, high: float) -> float:
    """Return a thickness [m] between two [mm], even in the logarithm."""
    return 1e-3 * float(np.exp(draw.uniform(np.log(low), np.log(high))))


def _gap(draw: Draw) -> Part:
    return _some(draw, "air"), _mm(draw, 10, 60)


def _bulk(draw: Draw) -> Part:
    """Insulation between studs or on a deck."""
    return _some(draw, "insulation", "lining", "panel"), _mm(draw, 40, 300)


def _sheathing(draw: Draw) -> Part:
    return _some(draw, "sheathing", "insulation"), _mm(draw, 9, 22)


def _cladding(draw: Draw) -> Part:
    made = _some(draw, "cladding", "brick", "plaster")
    return made, _mm(draw, 0.5, 1.0) if "metal" in made.tags else _mm(draw, 6, 25)


def _wall(draw: Draw) -> Part:
    """Masonry or concrete that bears."""
    return _some(draw, _pick(draw, ("masonry", "masonry", "concrete")), "lining", "mortar"), _mm(draw, 90, 500)


def _render(draw: Draw) -> Part:
    return _some(draw, "plaster", "lining") if draw.random() < 0.7 else _some(draw, "plaster"), _mm(draw, 8, 25)


def _control(draw: Draw) -> list[Part]:
    """Vapour control towards the room: none, a retarder of any kind, a foil."""
    return [_pick(draw, _library()[_pick(draw, (1, 2, 2, 3))])] if draw.random() < 0.7 else []


def _lining(draw: Draw) -> list[Part]:
    lining = _some(draw, _pick(draw, ("lining", "panel")), "insulation", "cladding")
    found: list[Part] = [(lining, _mm(draw, 8, 20))]
    if draw.random() < 0.6:
        found.append(_pick(draw, _library()[_pick(draw, (1, 1, 2))]))
    return found


def _frame(draw: Draw) -> list[Part]:
    """From the sheathing inward."""
    parts: list[Part] = [_open(draw)] if draw.random() < 0.8 else []
    if draw.random() < 0.2:
        parts.append((_some(draw, "insulation", "lining", "panel"), _mm(draw, 20, 100)))
    if draw.random() < 0.8:
        parts.append(_sheathing(draw))
    return [*parts, _bulk(draw), *_control(draw), *_lining(draw)]


def bare_masonry(draw: Draw) -> list[Part]:
    """Masonry or concrete in the weather."""
    return [_wall(draw), *([_render(draw)] if draw.random() < 0.7 else []), *([_open(draw)] * (draw.random() < 0.4))]


def rendered(draw: Draw) -> list[Part]:
    """Render on masonry."""
    paint = [_open(draw)] if draw.random() < 0.4 else []
    return [*paint, _render(draw), _wall(draw), *([_render(draw)] if draw.random() < 0.7 else [])]


def render_on_insulation(draw: Draw) -> list[Part]:
    """Render on insulation on a bearing wall."""
    board = (_some(draw, "insulation", "lining", "panel"), _mm(draw, 40, 250))
    return [_render(draw), board, _wall(draw), *([_render(draw)] if draw.random() < 0.7 else [])]


def interior_insulation(draw: Draw) -> list[Part]:
    """A bearing wall, insulated inside."""
    outer = [_render(draw)] if draw.random() < 0.4 else []
    mortar = [(_some(draw, "mortar"), _mm(draw, 5, 15))] if draw.random() < 0.5 else []
    return [
        *outer,
        _wall(draw),
        *mortar,
        (_some(draw, "insulation"), _mm(draw, 30, 120)),
        *_control(draw),
        *_lining(draw),
    ]


def veneer(draw: Draw) -> list[Part]:
    """Brick before a gap before a frame."""
    return [(_some(draw, "brick"), _mm(draw, 90, 115)), _gap(draw), *_frame(draw)]


def cavity(draw: Draw) -> list[Part]:
    """Two leaves of masonry, the cavity empty or filled."""
    fill = _gap(draw) if draw.random() < 0.5 else _bulk(draw)
    return [(_some(draw, "masonry", "lining", "mortar"), _mm(draw, 90, 115)), fill, _wall(draw), _render(draw)]


def clad_frame(draw: Draw) -> list[Part]:
    """A frame behind cladding."""
    return [_cladding(draw), *([_gap(draw)] if draw.random() < 0.75 else []), *_frame(draw)]


def stucco_frame(draw: Draw) -> list[Part]:
    """A frame behind render."""
    return [_render(draw), *_frame(draw)]


def log(draw: Draw) -> list[Part]:
    """Logs, with or without insulation inside."""
    inner = [_bulk(draw), *_control(draw), *_lining(draw)] if draw.random() < 0.4 else []
    return [(_some(draw, "lumber"), _mm(draw, 60, 300)), *inner]


def mass_timber(draw: Draw) -> list[Part]:
    """Solid timber, insulated outside."""
    timber = (_some(draw, _pick(draw, ("lumber", "panel")), "insulation", "cladding"), _mm(draw, 60, 200))
    outer = [_cladding(draw), _gap(draw), _open(draw)] if draw.random() < 0.8 else [_render(draw)]
    return [*outer, _bulk(draw), timber, *(_lining(draw) if draw.random() < 0.4 else [])]


def flat_roof(draw: Draw) -> list[Part]:
    """A flat roof, with gravel or without."""
    ballast = [(_some(draw, "ground"), _mm(draw, 40, 80))] if draw.random() < 0.4 else []
    deck = [_sheathing(draw)] if draw.random() < 0.6 else []
    under = _lining(draw) if deck else [(_some(draw, "concrete"), _mm(draw, 100, 240))]
    return [*ballast, _tight(draw), *deck, _bulk(draw), *_control(draw), *under]


def pitched_roof(draw: Draw) -> list[Part]:
    """A pitched roof, insulated between its rafters."""
    return [
        _cladding(draw),
        _gap(draw),
        _open(draw),
        *([_sheathing(draw)] * (draw.random() < 0.5)),
        _bulk(draw),
        *_control(draw),
        *_lining(draw),
    ]


def sandwich(draw: Draw) -> list[Part]:
    """Foam between sheets of metal."""
    metal = _some(draw, "metal")
    foam = (_some(draw, "foam"), _mm(draw, 40, 200))
    return [
        (metal, _mm(draw, 0.4, 1.0)),
        foam,
        *([(metal, _mm(draw, 0.4, 1.0))] if draw.random() < 0.5 else [_tight(draw), *_lining(draw)]),
    ]


def floor(draw: Draw) -> list[Part]:
    """A slab on the ground."""
    base = [(_some(draw, "ground"), _mm(draw, 100, 200))] if draw.random() < 0.7 else []
    finish = [_open(draw)] * (draw.random() < 0.5) + [
        (_some(draw, _pick(draw, ("lumber", "floor"))), _mm(draw, 10, 25))
    ]
    return [
        *base,
        (_some(draw, "sub-slab"), _mm(draw, 50, 150)),
        _tight(draw),
        (_some(draw, "slab"), _mm(draw, 80, 200)),
        *finish,
    ]


#: Families and how often each is drawn.
FAMILIES: tuple[tuple[Callable[[Draw], list[Part]], float], ...] = (
    (bare_masonry, 2.0),
    (rendered, 2.0),
    (render_on_insulation, 1.5),
    (interior_insulation, 1.5),
    (veneer, 1.5),
    (cavity, 1.0),
    (clad_frame, 3.0),
    (stucco_frame, 1.0),
    (log, 1.0),
    (mass_timber, 1.5),
    (flat_roof, 2.0),
    (pitched_roof, 1.0),
    (sandwich, 0.5),
    (floor, 0.5),
)
ROOFS = ("flat_roof", "pitched_roof")


@dataclass(frozen=True)
class DayCycle:
    """A room whose humidity is high for some hours of every day, as in the moisture buffer test (NORDTEST, 2005).

    temperature [K]; low, high : relative humidity [-]; hours of high humidity, from 7 in the morning.
    """

    temperature: float
    low: float
    high: float
    hours: float
    needs_outdoor = False

    def air(self, marks: Array, physics: Any, outdoor: Any) -> tuple[Array, Array]:
        """Return temperature [K] and vapour pressure [Pa]."""
        seconds = np.asarray(marks, dtype="datetime64[s]").astype(np.int64) % 86400
        since = (seconds / 3600.0 - 7.0) % 24.0
        t = np.full(len(marks), self.temperature)
        return t, np.where(since < self.hours, self.high, self.low) * physics.saturation_pressure(t)

    def describe(self) -> str:
        """Return the model in one line."""
        return f"{self.low:.0%}, {self.hours:g} hours of every day {self.high:.0%}"


def _room(draw: Draw, films: tuple[float, float]) -> Indoor:
    temperature = draw.uniform(290.0, 298.0)
    models = (
        FromOutdoor(bool(draw.random() < 0.3)),
        FromOutdoor(),
        Constant(temperature, draw.uniform(0.3, 0.7)),
        AnnualSine(humidity=draw.uniform(0.4, 0.6)),
        HumidityClass(int(draw.integers(1, 5))),
        AirConditioned(),
        DayCycle(temperature, draw.uniform(0.3, 0.5), draw.uniform(0.6, 0.9), _pick(draw, (1.0, 2.0, 8.0))),
        DayCycle(temperature, draw.uniform(0.3, 0.5), draw.uniform(0.6, 0.8), 8.0),
    )
    return Indoor(_pick(draw, models), *films)


def _loads(draw: Draw, layers: tuple[Layer, ...], ventilated: bool) -> list[Load]:
    loads: list[Load] = []
    gaps = [layer.name for layer in layers if "air" in layer.material.tags]
    if gaps and ventilated:
        driven = draw.random() < 0.5
        changes = 0.0 if driven else 10.0 ** draw.uniform(-3.5, -1.5)
        loads.append(VentilatedGap(gaps[0], changes, height=5.0 if driven else 0.0, pressure_coefficient=0.2 * driven))
    behind = [
        layer.name for layer in layers[1:] if "air" not in layer.material.tags and "metal" not in layer.material.tags
    ]
    if behind and draw.random() < 0.25:
        loads.append(RainShare(_pick(draw, behind[:2]), _pick(draw, (0.003, 0.01, 0.02))))
    if len(layers) > 2 and draw.random() < 0.2:
        tightness = Leakage.from_q(10.0 ** draw.uniform(-0.5, 0.6) / 3600.0)
        loads.append(AirLeak(tightness, layer=_pick(draw, behind[: max(1, len(behind) - 1)])))
    return loads


def _draught(seed: int, number: int, layers: tuple[Layer, ...]) -> list[Load]:
    """Return of one wall in eight a leak by which air passes its layers; none through metal, glass or dense stone."""
    draw = np.random.default_rng([seed, number, 1])  # of its own: other walls stay what they were before there was any
    tight = any(layer.material.saturation < 10.0 or layer.material.density > 2000.0 for layer in layers)
    if tight or draw.random() >= 1 / 8:
        return []
    gaps = [layer.name for layer in layers if "air" in layer.material.tags]
    path = LeakPath(height=_pick(draw, (-1.5, 1.5, 3.0)), mechanical=_pick(draw, (0.0, 0.0, 3.0)))
    tightness = Leakage.from_q(10.0 ** draw.uniform(-0.5, 0.8) / 3600.0)
    return [AirLeak(tightness, path, "flow", gaps[0] if gaps and draw.random() < 0.7 else "")]


def drawn(seed: int, number: int, days: int) -> Case:
    """Return wall `number` of a seed, for so many days."""
    draw = np.random.default_rng([seed, number])
    weights = np.array([w for _, w in FAMILIES])
    family = FAMILIES[int(draw.choice(len(FAMILIES), p=weights / weights.sum()))][0]
    parts: list[Layer | Film] = []
    for part in family(draw):
        if isinstance(part, Film):
            parts.append(part)
        else:
            parts.append(Layer(part[0], part[1], f"{sum(isinstance(p, Layer) for p in parts)}: {part[0].name}"))
    what = Assembly(tuple(parts), family.__name__.replace("_", " "))
    weather = climates().get_entry(f"drydown:{_pick(draw, sorted(climates().plugins['drydown']))}")
    start = weather.start.astype("datetime64[D]").astype("datetime64[s]") + np.timedelta64(int(draw.integers(360)), "D")
    tilt, films = 90.0, (7.7, 2.5e-8)
    if family.__name__ in ROOFS:
        tilt, films = (2.0 if family is flat_roof else draw.uniform(15.0, 50.0)), CEILING
    exposure = Exposure(azimuth=draw.uniform(0.0, 359.0), tilt=tilt, absorptance=_pick(draw, (0.3, 0.6, 0.6, 0.9)))
    outside: Any = Outdoor(weather, exposure)
    if family is floor:
        outside, films = Ground(weather, depth=0.5, humidity=0.99), FLOOR
    inside = _room(draw, films)
    usual = draw.uniform(0.5, 0.85)
    damp: dict[str, float] = {}
    if draw.random() < 0.35:
        holds = [layer.name for layer in what.layers if "air" not in layer.material.tags]
        damp = {_pick(draw, holds): draw.uniform(0.85, 0.98)}
    case = Case(
        what,
        outside,
        inside,
        start,
        start + np.timedelta64(days, "D"),
        initial=Initial(draw.uniform(275.0, 293.0), usual, damp),
        name=f"{number}: {what.name}",
        loads=(*_loads(draw, what.layers, draw.random() < 0.6), *_draught(seed, number, what.layers))
        if family is not floor
        else (),
    )
    if draw.random() < 0.3:
        from .drawn_walls import fitting

        stores = [
            layer.name
            for layer in what.layers
            if "air" not in layer.material.tags and "metal" not in layer.material.tags
        ]
        begin = start + np.timedelta64(int(draw.integers(1, max(2, days // 2))) * 86400, "s")
        event = Wetting(
            _pick(draw, stores),
            10.0 ** draw.uniform(-1.0, 0.3),
            begin,
            3600.0 * _pick(draw, (1, 6, 24)),
            _pick(draw, ("whole", "outer", "inner")),
        )
        case = replace(case, wettings=(event,))
        fine = fitting(replace(case, numerics=replace(case.numerics, refine=4.0)))  # the place of an event is cells
        case = fitting(replace(case, wettings=fine.wettings))
    return case
