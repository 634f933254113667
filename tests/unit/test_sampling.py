"""Curves into tables: the error is measured here anew, at random places, for everything that is registered."""

import numpy as np
import pytest
from drydown import Assembly, Case, Chamber, Film, Layer, Material, Physics, plugins, simulate
from drydown.kernel.humidity import humidity_of
from drydown.kernel.layout import DELTA, LAMBDA, LIQUID_POTENTIAL, PERM_IN, PERM_OUT, POT_IN, POT_OUT, PSI, WATER
from drydown.lowering.problem import lower
from drydown.lowering.sampling import (
    BOUND,
    Z_DRY,
    Z_WET,
    material_functions,
    sample,
    sample_film,
    sample_material,
)
from drydown.materials import curves

ENTRIES = plugins.materials().entries()
MATERIALS = [name for name, e in ENTRIES.items() if isinstance(e, Material)]
FILMS = [name for name, e in ENTRIES.items() if isinstance(e, Film)]
RNG = np.random.default_rng(7)
PLACES = RNG.uniform(0.0, 1.0, 20000)
GAUSS, WEIGHTS = np.polynomial.legendre.leggauss(12)


def read(table, column, share):
    """Return a column of a table [interval, column, 4] at shares of its range."""
    n = len(table)
    i = np.minimum((share * n).astype(int), n - 1)
    t, c = share * n - i, table[i, column]
    return c[:, 0] + t * (c[:, 1] + t * (c[:, 2] + t * c[:, 3]))


def integral(slope, a, b, panels=4000):
    """Return the integral of a function from `a` to each of `panels` + 1 places up to b, by Gauss in each panel."""
    edges = np.linspace(a, b, panels + 1)
    half = 0.5 * np.diff(edges)
    points = 0.5 * (edges[1:] + edges[:-1])[:, None] + half[:, None] * GAUSS
    pieces = (slope(points.ravel()).reshape(points.shape) * WEIGHTS).sum(axis=1) * half
    return edges, np.concatenate([[0.0], np.cumsum(pieces)])


def off(seen, exact):
    span = max(np.ptp(exact), 1e-3 * np.max(np.abs(exact)))
    return float(np.max(np.abs(seen - exact)) / span)


def material_errors(m, physics=None):
    physics = physics or Physics()
    table, said, _ = sample_material(m, physics)
    f = material_functions(m, physics)
    z = Z_WET + PLACES * (Z_DRY - Z_WET)
    errors = {
        "water": off(read(table, WATER, PLACES), f.water(z)),
        "permeability": off(read(table, DELTA, PLACES), f.delta(z)),
        "conductivity": off(read(table, LAMBDA, PLACES), f.conductivity(z)),
    }
    # potentials are zero at the dry end
    for column, slope in ((PSI, f.psi_slope), (LIQUID_POTENTIAL, f.theta_slope)):
        if slope is not None:
            edges, exact = integral(slope, Z_WET, Z_DRY)
            seen = read(table, column, (edges - Z_WET) / (Z_DRY - Z_WET))
            errors[f"potential {column}"] = off(seen, exact - exact[-1])
    return errors, said


@pytest.mark.parametrize("name", MATERIALS)
def test_every_material_keeps_the_bound(name):
    errors, said = material_errors(ENTRIES[name])
    assert max(errors.values()) < BOUND == 1e-6, errors
    assert said < BOUND


@pytest.mark.parametrize("name", FILMS)
def test_every_film_keeps_the_bound(name):
    film = ENTRIES[name]
    n = 512
    table, said = sample_film(film, n)
    while said > BOUND and n < 16384:  # as a run does: a curve with corners needs more intervals
        n *= 2
        table, said = sample_film(film, n)
    for perm, pot, curve in (
        (PERM_IN, POT_IN, film.permeance),
        (PERM_OUT, POT_OUT, film.permeance_outward or film.permeance),
    ):
        assert off(read(table, perm, PLACES), np.asarray(curve(PLACES))) < BOUND
        edges, exact = integral(lambda x, c=curve: np.asarray(c(x)), 0.0, 1.0)
        assert off(read(table, pot, edges), exact) < BOUND
    assert said < BOUND


@pytest.mark.parametrize("n", [2.0, 4.0, 8.0])
def test_steep_retention_refines_itself(n):
    """All pores of one size: the steeper the curve, the more intervals, and the bound holds."""
    m = Material(
        "demo filter",
        1500.0,
        850.0,
        curves.Constant(1.0),
        curves.Retention(300.0, (1e-4, 1e-2), (n, 1.5), (0.99, 0.01)),
        curves.Constant(2e-11),
        300.0,
        diffusivity=curves.AbsorptionDiffusivity(0.1, 300.0),
    )
    errors, said = material_errors(m)
    print(f"n = {n}: {len(sample_material(m, Physics())[0])} intervals, {said:.1e}")
    assert max(errors.values()) < BOUND and said < BOUND
    assert len(sample_material(m, Physics())[0]) > 512 or n < 4.0


def test_what_cannot_be_met_is_said_in_the_results():
    """A permeance with a jump cannot be met by a smooth table: the result says how far it is off, and where."""
    jump = Film("demo jump", lambda phi: np.where(phi < 0.6, 1e-11, 1e-9))
    board = Layer(plugins.material("OSB"), 0.011)
    start = np.datetime64("2001-01-01T00", "s")
    case = Case(
        Assembly((board, jump)), Chamber(283.15, 0.8), Chamber(293.15, 0.5), start, start + np.timedelta64(2, "h")
    )
    problem = lower(case)
    assert problem.sampled.worst > BOUND and problem.sampled.worst_name == "demo jump"
    attrs = simulate(case).attrs
    assert attrs["table_error_bound"] == pytest.approx(problem.sampled.worst)
    assert attrs["table_error_worst_in"] == "demo jump"


def test_one_wall_has_one_worst_table():
    got = sample([ENTRIES["OSB"], ENTRIES["concrete"]], [ENTRIES["polyamide film 0.05 mm"]], Physics())
    each = {n: sample_material(ENTRIES[n], Physics())[1] for n in ("OSB", "concrete")}
    each["polyamide film 0.05 mm"] = sample_film(ENTRIES["polyamide film 0.05 mm"], 512)[1]
    assert got.worst == max(each.values()) and got.worst_name == max(each, key=each.get)
    assert np.all(np.isfinite(humidity_of(np.array([Z_WET, Z_DRY]))))


def test_cases_alike_are_sampled_once(monkeypatch):
    """Two cases read one after the other sample every material once: the gap, made at its thickness, too."""
    from drydown.lowering import sampling
    from drydown.lowering.media import sample_of

    asked = []
    really = sampling._sample_material

    def counted(m, physics, bound):
        asked.append(m.name)
        return really(m, physics, bound)

    monkeypatch.setattr(sampling, "_sample_material", counted)
    monkeypatch.setattr(sampling, "_MEMORY", {})
    gap = ENTRIES["air gap 25 mm"]

    def case(thickness):
        parts = (Layer(ENTRIES["OSB"], 0.011), Layer(gap, thickness), Layer(ENTRIES["concrete"], 0.1))
        start = np.datetime64("2021-10-01T00:00:00", "s")
        sides = Chamber(293.15, 0.5), Chamber(293.15, 0.5)
        return Case(Assembly(parts), *sides, start, start + np.timedelta64(1, "D"), physics=Physics())

    for _ in range(2):
        sample_of(case(0.025))
    assert asked == ["OSB", gap.name, "concrete"]
    sample_of(case(0.040))
    assert asked == ["OSB", gap.name, "concrete", gap.name]  # as wide it insulates otherwise


def test_memory_forgets_the_oldest_alone(monkeypatch):
    """Where more is asked for than is remembered, what was asked for last is still there."""
    from drydown.lowering import sampling

    monkeypatch.setattr(sampling, "_MEMORY_SIZE", 3)
    memory = {}
    for number in range(5):
        sampling._make_room(memory)
        memory[number] = number
    assert list(memory) == [2, 3, 4]
