"""The engine against the same equations by the method of lines and a general-purpose ODE solver, on one mesh.

The reference (`drydown_validation.references.method_of_lines`) shares no code with the engine; both get the same
mesh, the same hourly forcing and the same material curves. Two runs of the engine are held against it: one at
the default tolerance, with the bounds of acceptance (0.05 % relative humidity and 0.02 K, root mean square over
all cells and hours), and one at a hundredth of it, where next to nothing but a difference of the equations
would be left over. Weather: measured hours of typical years (TMY3) that pvlib ships.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from benchmark_materials import EN15026, Of
from drydown import Assembly, Case, Film, Layer, Material, Numerics, simulate
from drydown.case.case import Initial
from drydown.climate.model import Climate
from drydown.climate.weather.files import read_weather
from drydown.plugins import film, material
from drydown.sides.exposure import Exposure, Outdoor
from drydown.sides.indoor import FromOutdoor, Indoor
from drydown_validation.references.method_of_lines import Tolerance, Trace
from reference_walls import Difference, compare, run_reference

COLD, RAINY = "703165TY.csv", "723170TYA.CSV"  # Sand Point, Alaska; Greensboro, North Carolina
#: Errors of the reference itself against a run a thousand times tighter: 1.3e-7 and 4e-6 K over a day.
FINE = Tolerance("LSODA", 1e-6, 1e-5, 1e-6, 1e-9)

# demo curve with a liquid conductivity of suction beside a storage of humidity; it stands for no product
BOARD = Material(
    "demo board",
    500.0,
    1600.0,
    Of("water content", lambda w: 0.12 + 2e-4 * w),
    Of("humidity", lambda phi: 60 * phi / (4 - 3 * phi) + 300 * phi**30),
    Of("humidity", lambda phi: 2e-12 * (1 + 20 * phi**4)),
    360.0,
    liquid=Of("suction", lambda p: 1e-13 / (1 + p / 1e6) ** 1.5),
)
POLYAMIDE = "polyamide film 0.05 mm"


@lru_cache
def weather(name: str) -> Climate:
    return read_weather(Path(str(files("pvlib") / "data" / name)))


def layer(what: str | Material, thickness: float, cells: int) -> Layer:
    m = material(what) if isinstance(what, str) else what
    return Layer(m, thickness, m.name, cells)


def case(
    *parts: Layer | Film,
    hours: int,
    place: str = COLD,
    start: str = "2001-03-05",
    azimuth: float = 180.0,
    humidity: float = 0.75,
    layers: dict[str, float] | None = None,
    reading: str = "integral",
) -> Case:
    begin = np.datetime64(start, "s")
    return Case(
        Assembly(parts),
        Outdoor(weather(place), Exposure(azimuth=azimuth)),
        Indoor(FromOutdoor()),
        begin,
        begin + np.timedelta64(hours, "h"),
        initial=Initial(278.15, humidity, layers or {}),
        numerics=Numerics(film_reading=reading),
    )


def check(what: Case, trace: Trace | None = None) -> tuple[Difference, Difference]:
    """Hold both runs against the reference and return the differences."""
    trace = run_reference(what, FINE) if trace is None else trace
    usual, tight = compare(what, trace), compare(what, trace, 0.01)
    assert usual.humidity < 5e-4 and usual.temperature < 0.02
    assert tight.humidity < 1e-5 and tight.temperature < 3e-4
    assert tight.humidity_most < 2e-4 and tight.temperature_most < 3e-3
    assert np.ptp(trace.humidity) > 0.1 and np.ptp(trace.temperature) > 5.0
    print(
        f"method of lines: default {100 * usual.humidity:.4f} % RH, {usual.temperature:.4f} K; "
        f"tight {100 * tight.humidity:.1e} % RH, {tight.temperature:.1e} K"
    )
    return usual, tight


@pytest.mark.slow
def test_frame_wall_in_four_days_of_cold_weather():
    """Measured: 9.3e-5 and 0.0028 K at the default tolerance; 2.4e-6 and 6e-5 K at a hundredth of it."""
    wall = case(
        film("exterior acrylic paint"),
        layer("fibre cement", 0.010, 8),
        layer("mineral wool", 0.14, 12),
        film(POLYAMIDE),
        layer("gypsum board", 0.0125, 8),
        film("latex paint"),
        hours=96,
    )
    usual, tight = check(wall)
    # water through both surfaces [kg/m2]
    assert usual.entered < 1e-5 and tight.entered < 1e-6


@pytest.mark.slow
def test_cladding_in_three_days_of_rain_most_of_which_runs_off():
    """Measured: 8.2e-5 and 0.0036 K at the default tolerance; 1.2e-6 and 5e-5 K at a hundredth of it."""
    wall = case(
        layer("fibre cement", 0.008, 8),
        layer("mineral wool", 0.14, 10),
        layer("gypsum board", 0.0125, 7),
        hours=72,
        place=RAINY,
        start="2001-09-21",
    )
    usual, tight = check(wall)
    data = simulate(wall)
    offered, run_off = float(data.rain_offered[-1]), float(data.rain_run_off[-1])
    assert 0.5 * offered < run_off < offered and offered > 10.0
    assert usual.entered < 1e-3 and tight.entered < 1e-5


@pytest.mark.slow
def test_wet_masonry_in_rain_draws_water_from_layer_to_layer():
    """Brick on concrete, both wet from the start; the brick fills up.

    Measured: 3.7e-5 and 0.0008 K at the default tolerance; 1.1e-6 and 3e-5 K at a hundredth of it. Close to
    saturation little humidity is much water: 0.0037 and 8e-5 kg/m2 of the 19 that entered.
    """
    wall = case(
        layer("clay brick", 0.10, 10),
        layer("concrete", 0.10, 8),
        layer("mineral wool", 0.10, 6),
        film("latex paint"),
        hours=48,
        place=RAINY,
        start="2001-09-17",
        azimuth=0.0,
        humidity=0.8,
        layers={"clay brick": 0.95, "concrete": 0.98},
    )
    usual, tight = check(wall)
    data = simulate(wall)
    assert float(data.relative_humidity.max()) > 0.9999
    taken = float(data.rain_offered[-1] - data.rain_run_off[-1])
    print(f"of {taken:.1f} kg/m2 taken up: {usual.entered:.1e} and {tight.entered:.1e} kg/m2 otherwise")
    assert taken > 5.0
    assert usual.entered < 5e-3 * taken and tight.entered < 1e-4 * taken


KINDS = {
    "liquid of suction, two media in contact": lambda: case(
        layer("absorbent brick", 0.10, 10), layer("calcium silicate insulation", 0.05, 10), hours=12
    ),
    "storage and permeability of suction and of humidity, film between": lambda: case(
        layer(EN15026, 0.05, 10),
        film(POLYAMIDE),
        layer(BOARD, 0.02, 8),
        layer("mineral wool", 0.1, 6),
        layer("gypsum board", 0.0125, 6),
        hours=12,
        humidity=0.9,
    ),
    "vapour alone, resolved, film between": lambda: case(
        layer("wood fibre insulation", 0.1, 8),
        film(POLYAMIDE),
        layer("gypsum plaster", 0.0125, 6),
        hours=12,
        humidity=0.9,
    ),
    "plain resistances, film between and none": lambda: case(
        layer("steel sheet", 0.001, 2),
        layer("mineral wool", 0.1, 8),
        film(POLYAMIDE),
        layer("expanded polystyrene", 0.03, 6),
        hours=12,
    ),
    "wood, whose storage moves with temperature": lambda: case(
        layer("spruce cladding", 0.02, 8),
        layer("air gap 25 mm", 0.025, 3),
        film("weather-resistive membrane"),
        layer("OSB", 0.011, 8),
        layer("dense cellulose", 0.14, 8),
        layer("gypsum board", 0.0125, 6),
        hours=12,
    ),
    "permeance at the mean humidity": lambda: case(
        layer("fibre cement", 0.01, 8),
        film(POLYAMIDE),
        layer("mineral wool", 0.1, 8),
        film(POLYAMIDE),
        layer("gypsum board", 0.0125, 6),
        hours=12,
        reading="mean",
    ),
}


@lru_cache
def reference(kind: str) -> Trace:
    return run_reference(KINDS[kind](), FINE)


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_face(kind):
    _, tight = check(KINDS[kind](), reference(kind))
    assert tight.entered < 1e-5


def test_a_change_of_one_law_is_seen():
    """The other reading of the films, or wood without its shift, lies far outside what is allowed above."""
    kind = "permeance at the mean humidity"
    other = replace(KINDS[kind](), numerics=Numerics(film_reading="integral"))
    assert compare(other, reference(kind), 0.01).humidity > 1e-4
    kind = "wood, whose storage moves with temperature"
    wood = KINDS[kind]()
    parts = [
        replace(p, material=replace(p.material, sorption_temperature_exponent=0.0)) if isinstance(p, Layer) else p
        for p in wood.assembly.parts
    ]
    assert compare(replace(wood, assembly=Assembly(tuple(parts))), reference(kind), 0.01).humidity > 1e-3
