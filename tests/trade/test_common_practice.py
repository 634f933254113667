"""What experienced builders expect of a wall. Common practice: rules of the trade, no published source.

The numbers asserted are wide on purpose: they say "almost nothing", "a clear share", "more than", as the rules do.
"""

from __future__ import annotations

import numpy as np
import pytest
from drydown import dryout, simulate
from drydown.sides.indoor import AirConditioned, Indoor
from drydown.trial.dryout import monthly
from example_walls import case_of, frame_wall, wet_sheathing

POLY = "polyethylene 0.15 mm"
VARIABLE = "polyamide film 0.05 mm"


@pytest.fixture(scope="module")
def trials():
    """The same wall wetted in spring behind both films, cold humid climate."""
    return {
        name: dryout(wet_sheathing(frame_wall(inside_film=name), start_day=90, day=10, days=300))
        for name in (POLY, VARIABLE)
    }


def test_polyethylene_inside_sends_almost_nothing_inward(trials):
    share = trials[POLY].attrs["share_inward"]
    print(f"inward share behind polyethylene: {100 * share:.1f} %")
    assert 0.0 <= share < 0.03


def test_humidity_dependent_film_dries_inward_in_the_warm_season(trials):
    trial = trials[VARIABLE]
    print(f"inward share behind the humidity-dependent film: {100 * trial.attrs['share_inward']:.1f} %")
    assert trial.attrs["share_inward"] > 0.10
    assert trial.attrs["share_inward"] > 5.0 * trials[POLY].attrs["share_inward"]
    by_month = monthly(trial).sel(way="inner surface")
    warm = by_month.where(by_month["month"].dt.month.isin([5, 6, 7, 8, 9]), drop=True).sum()
    assert float(warm) > 0.8 * float(by_month.sum())
    assert trial.attrs["days_to_90_percent_dry"] < trials[POLY].attrs["days_to_90_percent_dry"]


def test_polyethylene_outside_the_insulation_accumulates_in_winter():
    """In a cold climate vapour control belongs on the warm side."""
    gain = {}
    for name, walls in {"inside": {"inside_film": POLY}, "outside": {"outside_film": POLY}}.items():
        ds = simulate(case_of(frame_wall(**walls), start_day=273, days=180))
        water = ds["layer_water"].sel(layer="insulation")
        gain[name] = float(water.max() - water[0])
    print(f"winter gain of the insulation: poly inside {gain['inside']:.3f}, outside {gain['outside']:.3f} kg/m2")
    assert gain["outside"] > 0.2
    assert gain["outside"] > 10.0 * max(gain["inside"], 1e-3)


def test_polyethylene_inside_is_wrong_where_it_is_hot_humid_and_air_conditioned():
    """The vapour comes from outside there: behind polyethylene it meets a cold sheet and stays."""
    wet = {}
    for name, wall in {"poly": frame_wall(inside_film=POLY), "none": frame_wall()}.items():
        ds = simulate(
            case_of(wall, place="saltreed", indoor=Indoor(AirConditioned()), start_day=90, days=180, azimuth=180.0)
        )
        inner = ds["layer_of_cell"].values == "insulation"
        last = np.flatnonzero(inner)[-1]
        wet[name] = float(np.mean(ds["relative_humidity"].values[24 * 60 :, last] > 0.85))
    print(f"share of hours above 85 % at the inner face of the insulation: {wet}")
    assert wet["poly"] > 0.25
    assert wet["none"] < 0.25 * wet["poly"]


def test_more_insulation_colder_sheathing_longer_drying():
    """The better the insulation, the colder the outer sheathing and the longer a wetting there lasts."""
    cold, days = [], []
    for thickness in (0.09, 0.14, 0.30):
        wall = frame_wall(inside_film=POLY, insulation=thickness)
        trial_case = wet_sheathing(wall, start_day=304, day=10, days=300)
        trial = dryout(trial_case)
        days.append(trial.attrs["days_to_90_percent_dry"])
        ds = simulate(case_of(wall, start_day=334, days=90))
        sheathing = np.flatnonzero(ds["layer_of_cell"].values == "sheathing")
        cold.append(float(ds["temperature"].values[:, sheathing].mean()))
    print(f"mean winter temperature of the sheathing {np.round(cold, 2)} K, days to a tenth {np.round(days, 1)}")
    assert cold[0] > cold[1] > cold[2]
    assert days[0] < days[1] < days[2]
