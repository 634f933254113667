"""Properties of water, ice and moist air against IAPWS formulations (iapws) and ASHRAE's equations (psychrolib).

Bounds are what the simpler laws reach, rounded up; each formula of ours has its source in `drydown.moist_air`.
"""

from __future__ import annotations

import numpy as np
import pytest
from drydown import moist_air
from drydown.climate.model import dew_point

iapws = pytest.importorskip("iapws")
psychrolib = pytest.importorskip("psychrolib")
psychrolib.SetUnitSystem(psychrolib.SI)

WARM = np.array([0.01, 5.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0]) + 273.15
COLD = np.array([-40.0, -30.0, -20.0, -10.0, -5.0, -1.0]) + 273.15


def saturated(quality: int, of: str) -> np.ndarray:
    """IAPWS-IF97 along the line of saturation."""
    return np.array([getattr(iapws.IAPWS97(T=t, x=quality), of) for t in WARM])


def off(a, b) -> float:
    """Greatest relative difference."""
    return float(np.max(np.abs(np.asarray(a) / np.asarray(b) - 1.0)))


def test_saturation_over_water():
    """IF97 within 0.2 % (ISO 13788, 0 to 60 degC) and 0.02 % (Hyland and Wexler); psychrolib has the latter too."""
    known = 1e6 * saturated(0, "P")
    assert off(moist_air.saturation_pressure_iso13788(WARM), known) < 2e-3
    assert off(moist_air.saturation_pressure_water(WARM), known) < 2e-4
    ashrae = [psychrolib.GetSatVapPres(t - 273.15) for t in WARM[1:]]
    assert off(moist_air.saturation_pressure_water(WARM[1:]), ashrae) < 1e-9


def test_saturation_over_ice():
    """IAPWS sublimation line within 0.25 % from -10 degC, 0.5 % from -20 degC, 2 % at -40 degC; so psychrolib."""
    from iapws._iapws import _Sublimation_Pressure

    ours = moist_air.saturation_pressure_iso13788(COLD)
    for known in (
        [1e6 * _Sublimation_Pressure(t) for t in COLD],
        [psychrolib.GetSatVapPres(t - 273.15) for t in COLD],
    ):
        assert off(ours[3:], known[3:]) < 2.5e-3
        assert off(ours[2:], known[2:]) < 5.1e-3
        assert off(ours, known) < 2e-2
    # over ice, not over water: at -20 degC these differ by a fifth
    assert ours[2] / moist_air.saturation_pressure_water(COLD[2]) < 0.83


def test_latent_heat():
    """Enthalpy of evaporation L0 + (c_v - c_w) theta within 0.2 % of IF97 from 0 to 60 degC, 0.06 % to 30 degC."""
    known = 1e3 * (saturated(1, "h") - saturated(0, "h"))
    ours = moist_air.LATENT_HEAT + (moist_air.CP_VAPOUR - moist_air.CP_WATER) * (WARM - 273.15)
    assert off(ours, known) < 2e-3
    assert off(ours[:5], known[:5]) < 6e-4


def test_water():
    """Heat capacity within 0.6 %, density (rounded) within 0.8 % up to 30 degC."""
    at = [iapws.IAPWS97(T=t, P=0.101325) for t in WARM[1:]]
    assert off(moist_air.CP_WATER, [1e3 * s.cp for s in at]) < 6e-3
    assert off(moist_air.WATER_DENSITY, [s.rho for s in at[:4]]) < 8e-3
    assert off(moist_air.CP_VAPOUR, 1e3 * saturated(1, "cp")[:5]) < 4e-2


def test_gas_constant_of_vapour():
    """CODATA 2018 R over 18.015268 g/mol: 461.523 J/(kg K)."""
    assert pytest.approx(8.314462618 / 18.015268e-3, rel=1e-4) == moist_air.R_VAPOUR


def test_permeability_of_air():
    """Diffusion of vapour in air by Marrero and Mason 1972, D = 1.87e-10 T^2.072 atm m2/s (from memory).

    Two laws of building physics lie 6 to 15 % above it between -20 and 40 degC, and within 2 % of each other.
    """
    t = np.array([253.15, 273.15, 293.15, 313.15])
    known = 1.87e-10 * t**2.072 / (461.5 * t)
    din, schirmer = moist_air.vapour_permeability_din52615(t), moist_air.vapour_permeability_schirmer(t)
    for ours in (din, schirmer):
        assert np.all((ours / known > 1.05) & (ours / known < 1.15))
    assert off(din, schirmer) < 2e-2


@pytest.mark.parametrize(("celsius", "humidity"), [(20.0, 0.5), (30.0, 0.8), (5.0, 0.9), (-10.0, 0.7)])
def test_dew_point(celsius, humidity):
    """psychrolib within 0.02 K (it has another saturation pressure)."""
    pressure = humidity * moist_air.saturation_pressure_iso13788(celsius + 273.15)
    ours = float(np.asarray(dew_point(np.array([pressure])))[0]) - 273.15
    assert ours == pytest.approx(psychrolib.GetTDewPointFromRelHum(celsius, humidity), abs=0.02)
