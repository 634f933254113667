"""Walls drawn at random from a seed, run for a month each or longer, and what must hold for every one of them.

A draw takes any materials and films of the library, foils on each other included, wet and saturated starts,
frost and heat, laboratory and weather of every climate, rain, a wetting. Half of the walls also carry loads:
ventilated gaps, air that flows through the layers or condenses in them, shares of the driving rain. The same
number gives the same wall for as long as the library has the same entries; the loads come from a generator of
their own, so that without them a wall is what it always was.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
from drydown import Assembly, Case, Chamber, Film, Initial, InputError, Layer, Material, Numerics, Wetting, simulate
from drydown.case.air_leakage import Leakage, LeakPath
from drydown.case.case import THICKEST
from drydown.case.loads import AirLeak, AirStream, Load, RainShare, VentilatedGap
from drydown.plugins import climates, materials
from drydown.sides.exposure import Exposure, Outdoor
from drydown.sides.indoor import Constant, FromOutdoor, Indoor

DAYS = 30
#: Closure of one step and of the whole run [kg/m2] (DESIGN section 6).
STEP_BOUND, RUN_BOUND = 1e-9, 1e-6
#: Temperature of a wall in weather [K].
COLDEST, HOTTEST = 220.0, 390.0


@lru_cache(maxsize=1)
def _library() -> tuple[tuple[Material, ...], tuple[Film, ...]]:
    """Return the materials and films of the library, in the order of their names."""
    known = materials().plugins["drydown"]
    entries = [materials().get_entry(f"drydown:{name}") for name in sorted(known)]
    return tuple(e for e in entries if isinstance(e, Material)), tuple(e for e in entries if isinstance(e, Film))


def _pick(draw: np.random.Generator, choices: Any) -> Any:
    return choices[int(draw.integers(len(choices)))]


def _parts(draw: np.random.Generator) -> list[Layer | Film]:
    stuffs, films = _library()
    parts: list[Layer | Film] = []
    for i in range(int(draw.integers(1, 7))):
        for _ in range(_pick(draw, (0, 0, 0, 1, 1, 2))):
            parts.append(_pick(draw, films))
        stuff, thickness = _pick(draw, stuffs), 10.0 ** draw.uniform(-2.7, -0.5)
        # thicker than the thinnest of what a case lets pass is refused, not run
        parts.append(Layer(stuff, min(thickness, min(THICKEST.values())), f"layer {i}"))
    if draw.random() < 0.5:
        parts.append(_pick(draw, films))
    return parts


def drawn(number: int, loads: bool = True, days: int = DAYS) -> Case:
    """Return wall `number` for so many days; `loads` False leaves it without loads in any case."""
    case = _plain(number, days)
    return _loaded(case, number, days) if loads else case


def _plain(number: int, days: int) -> Case:
    draw = np.random.default_rng([1729, number])
    parts = _parts(draw)
    layers = [p.name for p in parts if isinstance(p, Layer)]
    wettable = [p.name for p in parts if isinstance(p, Layer) and "air" not in p.material.tags]
    places = sorted(climates().plugins["drydown"])
    weather = climates().get_entry(f"drydown:{_pick(draw, places)}")
    day = min(int(draw.integers(0, 3300)), max(len(weather.temperature) // 24 - days - 1, 0))
    start = weather.start.astype("datetime64[D]").astype("datetime64[s]") + np.timedelta64(day, "D")
    exposure = Exposure(azimuth=draw.uniform(0.0, 359.0), tilt=_pick(draw, (90.0, 90.0, 45.0, 10.0, 180.0)))
    outside: Any = Outdoor(weather, exposure)
    indoor: Any = Indoor(FromOutdoor())
    kind = draw.random()
    if kind < 0.15:
        outside = Chamber(draw.uniform(250.0, 340.0), draw.uniform(0.05, 1.0), rain=_pick(draw, (0.0, 1e-5, 1e-3)))
    elif kind < 0.2:
        outside = Chamber(draw.uniform(255.0, 320.0), draw.uniform(0.05, 0.99), surface=True)
    kind = draw.random()
    if kind < 0.3:
        indoor = Chamber(draw.uniform(265.0, 320.0), draw.uniform(0.1, 1.0), sealed=bool(draw.random() < 0.2))
    elif kind < 0.5:
        indoor = Indoor(Constant(draw.uniform(288.0, 303.0), draw.uniform(0.2, 0.9)))
    humidity = {
        name: float(_pick(draw, (draw.uniform(0.02, 0.95), draw.uniform(0.95, 0.9999), 1.0))) for name in layers
    }
    wettings: tuple[Wetting, ...] = ()
    if draw.random() < 0.7 and wettable:
        begin = start + np.timedelta64(int(draw.integers(0, 10 * 86400)), "s")
        place = _pick(draw, ("whole", "outer", "inner"))
        amount, duration = 10.0 ** draw.uniform(-2.0, 0.7), 10.0 ** draw.uniform(1.0, 5.0)
        wettings = (Wetting(_pick(draw, wettable), amount, begin, duration, place),)
    return Case(
        Assembly(tuple(parts)),
        outside,
        indoor,
        start,
        start + np.timedelta64(days, "D"),
        wettings,
        Initial(draw.uniform(255.0, 310.0), draw.uniform(0.1, 0.95), humidity),
        numerics=Numerics(film_reading=_pick(draw, ("integral", "integral", "mean"))),
        name=f"wall {number}",
    )


def _loaded(case: Case, number: int, days: int) -> Case:
    """Return half of the walls with loads, and the other half as they are."""
    draw = np.random.default_rng([1729, number, 1])
    if draw.random() < 0.5:
        return case
    weather = isinstance(case.outside, Outdoor)
    open_sides = not getattr(case.outside, "surface", False)
    open_sides = open_sides and not getattr(case.inside, "sealed", False)
    loads: list[Load] = []
    assembly, gap = case.assembly, ""
    if draw.random() < 0.6:
        gap, parts = "gap", list(assembly.parts)
        air = _pick(draw, [m for m in _library()[0] if m.name.startswith("air gap")])
        parts.insert(int(draw.integers(len(parts) + 1)), Layer(air, 10.0 ** draw.uniform(-2.5, -1.0), gap))
        assembly = replace(assembly, parts=tuple(parts))
        height = _pick(draw, (0.0, draw.uniform(0.3, 12.0)))
        changes = 10.0 ** draw.uniform(-4.0, -0.5) if not height else _pick(draw, (0.0, 1.0 / 3600.0))
        wind = draw.uniform(0.0, 0.5) if weather and height else 0.0
        side = _pick(draw, ("outside", "outside", "inside"))
        loads.append(
            VentilatedGap(gap, changes, side, height, wind, 10.0 ** draw.uniform(0.0, 3.0), draw.uniform(2.0, 90.0))
        )
    places = [layer.name for layer in assembly.layers]
    tightness = Leakage.from_q(10.0 ** draw.uniform(-1.5, 0.69) / 3600.0, exponent=draw.uniform(0.5, 1.0))
    end = _pick(draw, ("", gap))
    swing = np.sort(draw.choice(days * 24 * 60, 5, replace=False))
    if open_sides and draw.random() < 0.5:
        path = LeakPath(draw.uniform(0.0, 359.0), draw.uniform(-6.0, 6.0), mechanical=_pick(draw, (0.0, 5.0)))
        loads.append(AirLeak(tightness, path, "flow", end))
    if open_sides and draw.random() < 0.3:
        flows = draw.choice((-1.0, 0.0, 1.0), 5) * 10.0 ** draw.uniform(-6.0, -2.5, 5)
        loads.append(
            AirStream(
                tuple((case.start + np.timedelta64(int(t), "m"), float(g)) for t, g in zip(swing, flows, strict=True)),
                end,
            )
        )
    if draw.random() < 0.4:
        loads.append(
            AirLeak(
                tightness, way="screening", layer=_pick(draw, places), place=_pick(draw, ("whole", "outer", "inner"))
            )
        )
    if draw.random() < 0.5:
        loads.append(
            RainShare(_pick(draw, places), 10.0 ** draw.uniform(-3.0, 0.0), _pick(draw, ("whole", "outer", "inner")))
        )
    return replace(case, assembly=assembly, loads=tuple(loads))


@dataclass(frozen=True)
class Outcome:
    """What came of one wall.

    What is wrong (empty: nothing), lowest and highest humidity [-] and temperature [K], worst closure of a step and of
    the run [kg/m2], steps taken and failed, whether the wetting fitted, loads.
    """

    number: int
    wrong: str
    humidity: tuple[float, float] = (np.nan, np.nan)
    temperature: tuple[float, float] = (np.nan, np.nan)
    closure_step: float = np.nan
    closure: float = np.nan
    steps: int = 0
    failed: int = 0
    wetted: bool = False
    loads: int = 0


def fitting(case: Case) -> Case:
    """Return the case with its wetting halved until it fits into the pores, or without it where none fits."""
    from drydown.lowering.grid import make_grid
    from drydown.lowering.problem import lower

    grid = make_grid(case.assembly, case.numerics.refine)  # the room of a place asks for no pilot marches
    for _ in range(12):
        try:
            lower(case, grid=grid)
            return case
        except InputError as error:
            if "do not fit" not in str(error):
                raise
        case = replace(case, wettings=tuple(replace(w, amount=w.amount / 2) for w in case.wettings))
    return replace(case, wettings=())


def budget_gap(data: Any) -> float:
    """Water stored less at the start, less all that came in, at worst [kg/m2]; not from what the kernel reports."""
    stored = (data["water_content"].values * data["width"].values).sum(axis=1)
    passed = sum(data[name].values for name in ("vapour_passed", "liquid_passed", "convected_vapour_passed"))
    came = passed[:, 0] - passed[:, -1] + data["water_added"].values.sum(axis=1) + data["load_water"].values.sum(axis=1)
    return float(np.max(np.abs(stored - stored[0] - came)))


def judge(case: Case, number: int = -1) -> Outcome:
    """Run a wall and say what is wrong with it."""
    try:
        case = fitting(case)
        data = simulate(case)
    except Exception as error:  # any failure is a finding
        return Outcome(number, f"{type(error).__name__}: {' '.join(str(error).split())}")
    phi, temperature = data["relative_humidity"].values, data["temperature"].values
    gap, step = budget_gap(data), float(data.attrs["water_closure_step_max"])
    wrong = []
    if not (np.all(np.isfinite(phi)) and np.all(phi > 0.0) and np.all(phi <= 1.0)):
        wrong.append(f"humidity from {phi.min():.3g} to {phi.max():.3g}")
    if not (np.all(temperature > COLDEST) and np.all(temperature < HOTTEST)):
        wrong.append(f"temperature from {temperature.min():.1f} to {temperature.max():.1f} K")
    if not step < STEP_BOUND:
        wrong.append(f"a step leaves {step:.1e} kg/m2")
    if not gap < RUN_BOUND:
        wrong.append(f"the budget is open by {gap:.1e} kg/m2")
    return Outcome(
        number,
        "; ".join(wrong),
        (float(phi.min()), float(phi.max())),
        (float(temperature.min()), float(temperature.max())),
        step,
        gap,
        int(data.attrs["steps"]),
        int(data.attrs["steps_failed"]),
        bool(case.wettings),
        len(case.loads),
    )


def run(number: int, loads: bool = True, days: int = DAYS) -> Outcome:
    """Draw wall `number` and judge it."""
    return judge(drawn(number, loads, days), number)
