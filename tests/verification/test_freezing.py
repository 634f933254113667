"""Freezing: the front of Neumann's solution, the budget of a freeze-thaw wall, ice against the storage curve."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from benchmark_materials import Of
from drydown import Assembly, Case, Chamber, Initial, Layer, Material, Numerics, simulate
from drydown.kernel.humidity import u_of
from drydown.kernel.jit import compiled
from drydown.kernel.pores import enthalpy, temperature_of
from drydown.lowering.problem import lower
from drydown.plugins import climate, material
from drydown.sides.exposure import Exposure, Outdoor
from drydown.sides.indoor import FromOutdoor, Indoor
from drydown_validation.references.neumann_front import Freezing

START = np.datetime64("2001-01-01T00", "s")
FULL, DRY = 300.0, 1.0e6  # water in the pores, kg/m3; heat capacity of the dry material, J/(m3 K)


def saturated(steep: float = 4.0, entry: float = 1e3) -> Material:
    """Full pores that empty, and so freeze, within a few hundredths of a kelvin; no moisture moves."""
    return Material(
        name="saturated",
        density=1000.0,
        heat_capacity=DRY / 1000.0,
        conductivity=Of("water content", lambda w: 1.5 + 0.0 * w),
        storage=Of("suction", lambda s: FULL / (1.0 + (s / entry) ** steep) ** (1.0 - 1.0 / steep)),
        permeability=lambda phi: 1e-18 + 0.0 * phi,
        saturation=FULL,
        freezing=True,
    )


@pytest.mark.parametrize("warm", [0.0, 4.0], ids=["one phase", "two phases"])
def test_neumann_front(warm):
    wall = Assembly((Layer(saturated(), 4.0, cells=400),))
    case = Case(
        wall,
        Chamber(263.15, 0.9999, surface=True),
        Chamber(273.15 + warm, 0.9999, sealed=True, heat_transfer=1e-9),
        START,
        START + np.timedelta64(10, "D"),
        initial=Initial(273.15 + warm, 1.0 - 3e-6),
    )
    ds = simulate(case)
    water = float(ds["water_content"][0].mean())
    assert water > 0.98 * FULL
    exact = Freezing(
        conductivity_frozen=1.5,
        conductivity_unfrozen=1.5,
        capacity_frozen=DRY + water * 2100.0,
        capacity_unfrozen=DRY + water * 4182.0,
        latent=water * 3.336e5,
        t_face=263.15,
        t_start=273.15 + warm,
    )
    t = np.arange(1, 11) * 86400.0
    at = ds.isel(time=np.arange(1, 11) * 24)
    left = -at["heat_passed"].values[:, 0]
    off = np.abs(left / exact.heat_out(t) - 1.0)
    # the front: where half of the water is ice, counted by the ice itself
    depth = (at["ice_content"].values * ds["width"].values).sum(axis=1) / water
    front = np.abs(depth / exact.position(t) - 1.0)
    temperature = np.abs(at["temperature"].values - exact.temperature(ds["x"].values[None, :], t[:, None]))
    rms = np.sqrt(np.mean(temperature**2, axis=1))
    print(f"heat {off.max():.2e}, front {front.max():.2e} to {front[-1]:.2e}, T {rms.max():.4f} K")
    assert off.max() < 5e-3 and front[-1] < 5e-3 and front.max() < 1e-2
    assert rms.max() < 0.05
    assert ds.attrs["heat_closure_step_max"] < 1e-3


def test_ice_is_what_the_storage_curve_does_not_hold():
    """At rest at -2 degC: liquid is what the curve holds at the suction of freezing."""
    entry, n = 2e5, 1.6
    m = replace(saturated(), storage=Of("suction", lambda s: FULL / (1.0 + (s / entry) ** n) ** (1.0 - 1.0 / n)))
    wall = Assembly((Layer(m, 0.1, cells=5),))
    cold = Chamber(271.15, 0.9999, sealed=True, heat_transfer=50.0)
    ds = simulate(Case(wall, cold, cold, START, START + np.timedelta64(40, "D"), initial=Initial(271.15, 0.99999)))
    suction = 1000.0 * 3.336e5 * np.log(273.15 / 271.15)
    liquid = FULL / (1.0 + (suction / entry) ** n) ** (1.0 - 1.0 / n)
    got = (ds["water_content"] - ds["ice_content"]).values[-1]
    assert got == pytest.approx(liquid, rel=1e-4)


def test_freeze_thaw_wall_closes_and_holds_the_zero():
    """A wet brick wall through a winter: the budget closes, ice comes and goes, latent heat slows the frost."""
    c = climate("rimefell")
    start = np.datetime64(f"{c.start.astype('datetime64[Y]')}-10-01T00", "s")
    frozen = Layer(replace(material("clay brick"), freezing=True), 0.24, "brick")
    dry = Layer(replace(material("clay brick"), freezing=False), 0.24, "brick")
    case = Case(
        Assembly((frozen,)),
        Outdoor(c, Exposure(azimuth=0.0)),
        Indoor(FromOutdoor()),
        start,
        start + np.timedelta64(150, "D"),
        initial=Initial(283.15, 0.9995),
        numerics=Numerics(max_step=900.0),
    )
    ds = simulate(case)
    plain = simulate(replace(case, assembly=Assembly((dry,))))
    ice = (ds["ice_content"] * ds["width"]).sum("cell").values
    print(f"most ice {ice.max():.2f} kg/m2, steps {ds.attrs['steps']}, failed {ds.attrs['steps_failed']}")
    assert ice.max() > 1.0 and ice[0] == 0.0
    assert np.all(ds["ice_content"].values <= ds["water_content"].values + 1e-9)
    assert np.all(ds["ice_content"].values[ds["temperature"].values > 273.15] == 0.0)
    assert ds.attrs["water_closure_step_max"] < 1e-9 and ds.attrs["heat_closure_step_max"] < 1e-3
    assert "ice_content" not in plain
    # latent heat holds the outer brick near zero: it cools less
    assert float(ds["temperature"][:, 0].min()) > float(plain["temperature"][:, 0].min())


@compiled(no_cpython_wrapper=False)
def _there_and_back(tables, wall, u, t, guess):
    held, _ = enthalpy(tables, wall, 0, u, t)
    return temperature_of(tables, wall, 0, u, held, guess)


@pytest.mark.parametrize("humidity", [0.97, 0.9999])
def test_the_temperature_of_an_enthalpy_is_that_which_holds_it(humidity):
    # a guess that is right already, or where enthalpy is straight, was left half-way between two bounds: 5e-6 K
    side = Chamber(263.15, 0.9)
    case = Case(Assembly((Layer(saturated(), 0.1, cells=4),)), side, side, START, START + np.timedelta64(1, "h"))
    problem = lower(case)
    u = float(u_of(humidity))
    for t in (255.0, 266.6, 271.0, 274.0):
        for guess in (t, t + 1e-9, t - 1e-5, t + 1e-4, t - 0.1, t + 5.0):
            found = _there_and_back(problem.sampled.tables, problem.wall, u, t, guess)
            assert abs(found - t) < 1e-9
