"""Outdoor air through insulation against the closed form of a fin, and snow on a roof against resistances in series."""

from dataclasses import dataclass

import numpy as np
import pytest
from drydown import Assembly, Case, Chamber, Initial, InputError, Layer, Material, Physics, simulate
from drydown.case.sides import Side
from drydown.case.wind_wash import WindWash
from drydown.climate.model import HOUR, Climate
from drydown.climate.roof_snow import snow_conductivity
from drydown.sides.exposure import Exposure, Outdoor

START = np.datetime64("2001-01-01T00", "s")
CONDUCTIVITY, DEPTH = 0.04, 0.2


def fibre():
    return Material(
        name="fibre",
        density=20.0,
        heat_capacity=100.0,
        conductivity=lambda w: CONDUCTIVITY + 0.0 * w,
        storage=lambda phi: 0.5 * phi,
        permeability=lambda phi: 1e-10 + 0.0 * phi,
        saturation=300.0,
    )


@dataclass(frozen=True)
class Windy(Side):
    """A chamber with wind."""

    room: Chamber
    speed: float

    def forcing(self, marks, physics, other=None):
        return self.room.forcing(marks, physics)

    def wind(self, marks):
        return np.full(len(marks), self.speed)


def run(outside, loads=()):
    dry = 1e-4
    return simulate(
        Case(
            Assembly((Layer(fibre(), DEPTH, cells=100),)),
            outside,
            Chamber(293.15, dry, heat_transfer=1e4),
            START,
            START + np.timedelta64(15, "D"),
            initial=Initial(280.0, dry),
            physics=Physics(latent_heat=0.0, vapour_heat_capacity=0.0),
            loads=loads,
        )
    ).isel(time=-1)


@pytest.mark.parametrize("speed", [2.0, 5.0])
def test_air_through_insulation_is_a_fin(speed):
    wash = WindWash("fibre", 2.5e-4, 0.5, 0.2)
    # Darcy by hand: K dp/(rho L^2) with dp = dC_p rho U^2/2, so K dC_p U^2/(2 L^2).
    change = 2.5e-4 * 0.2 * speed**2 / (2.0 * 0.5**2)
    assert float(wash.air_change(np.array([speed]))[0]) == pytest.approx(change, rel=1e-12)
    cold = 263.15
    ds = run(Windy(Chamber(cold, 1e-4, heat_transfer=1e4), speed), (wash,))
    # T'' = (rho c n/lambda) (T - T_e), T_e at the outer face, T_i at the inner one: sinh. Air of 263 K has 1.342 kg/m3.
    m = np.sqrt(101325.0 / (287.055 * cold) * 1006.0 * change / CONDUCTIVITY)
    want = cold + (293.15 - cold) * np.sinh(m * ds["x"].values) / np.sinh(m * DEPTH)
    assert np.abs(ds["temperature"].values - want).max() < 0.05
    # It makes a difference: without wind the profile would be straight.
    assert (cold + (293.15 - cold) * ds["x"].values / DEPTH - want).max() > 0.5


def test_it_needs_wind_and_sound_numbers():
    with pytest.raises(InputError, match="climate with wind"):
        run(Chamber(263.15, 0.5), (WindWash("fibre", 2.5e-4, 3.0),))
    with pytest.raises(InputError, match="path is 0 m"):
        WindWash("fibre", 2.5e-4, 0.0)


def test_a_roof_under_snow_loses_heat_through_it():
    n = 24 * 15
    time = START + np.arange(1, n + 1) * HOUR
    rain = np.zeros(n)
    rain[:10] = 10.0
    sky = np.full(n, 5.670374e-8 * 258.15**4)
    flat = dict(wind_speed=np.full(n, 3.0), wind_direction=np.zeros(n), rain=rain, longwave_down=sky)
    place = Climate("yard", 50.0, 15.0, 0.0, 1.0, time, np.full(n, 258.15), np.full(n, 0.02), **flat)
    ds = run(Outdoor(place, Exposure(tilt=0.0, snow_lies=True)))
    # 80 kg/m2 are 0.32 m of 250 kg/m3; its top is as cold as air and sky.
    total = 4.0 + 4.0 * 0.72 * 3.0 + 4.0 * 0.98 * 5.670374e-8 * 258.15**3
    snow = 0.32 / snow_conductivity(250.0) + 1.0 / total
    resistance = snow + DEPTH / CONDUCTIVITY + 1e-4
    want = 258.15 + (293.15 - 258.15) * (snow + ds["x"].values / CONDUCTIVITY) / resistance
    assert np.abs(ds["temperature"].values - want).max() < 0.02
