"""Rain led into a place that passes nothing on and dries as fast as it is offered water: it takes just that."""

import numpy as np
import pytest
from drydown import Assembly, Case, Chamber, Initial, Layer, Numerics, simulate
from drydown.case.loads import RainShare
from drydown.kernel.layout import T_AIR
from drydown.lowering.grid import make_grid
from drydown.lowering.marcher import Marcher
from drydown.lowering.problem import lower
from drydown.plugins import film, material

START = np.datetime64("2001-01-01T00", "s")
RAIN, SHARE, HOURS = 1.0e-5, 0.1, 96
OFFERED = RAIN * SHARE * 3600.0 * HOURS


def wall(name="cellular glass", **changes) -> Case:
    """A layer that holds little and passes nothing on, behind foil, against dry moving air."""
    given = dict(
        assembly=Assembly((film("polyethylene 0.15 mm"), Layer(material(name), 0.02, "layer"))),
        outside=Chamber(283.15, 0.8, rain=RAIN),
        inside=Chamber(293.15, 0.4),
        start=START,
        end=START + np.timedelta64(HOURS, "h"),
        initial=Initial(288.15, 0.6),
        loads=(RainShare("layer", SHARE, "inner"),),
    )
    return Case(**{**given, **changes})


def last(data, name):
    return float(data[name].values[-1, 0])


@pytest.fixture(scope="module")
def runs():
    fine = {"refine": 4.0}
    return [simulate(wall(numerics=Numerics(**n))) for n in (fine, {"refine": 12.0}, {**fine, "tolerance": 0.1})]


def test_what_is_offered_is_taken_or_refused(runs):
    for data in runs:
        assert last(data, "load_water") + last(data, "load_refused") == pytest.approx(OFFERED, rel=1e-12)
        assert np.all(np.diff(data["load_refused"].values[:, 0]) >= 0.0)
        assert np.all(np.diff(data["load_water"].values[:, 0]) >= 0.0)
        assert data.attrs["water_closure_step_max"] < 1e-12
        # what finds no room is refused: pores are not overfilled by it
        assert float((data["water_content"] / data["saturation"]).max()) < 1.001


def test_meshes_and_steps_agree_on_what_it_takes(runs):
    taken = [last(data, "load_water") for data in runs]
    print([x / OFFERED for x in taken])
    assert 0.05 * OFFERED < taken[-1] < 0.95 * OFFERED
    assert taken[1] == pytest.approx(taken[0], rel=1e-2)
    assert taken[2] == pytest.approx(taken[0], rel=1e-4)


def test_steps_do_not_go_to_and_fro(runs):
    """The sides hold still: after the first hours steps are those that the marks and the longest step ask for."""
    for data in runs:
        print({k: data.attrs[k] for k in ("steps", "steps_rejected", "steps_failed", "sweeps")})
    for data in runs[:2]:
        assert data.attrs["steps"] < 2.5 * HOURS
        assert data.attrs["steps_failed"] == 0


def test_what_it_takes_is_of_second_order():
    """A room whose warmth swings, no cell full or dry meanwhile: step and step halved, the difference is a quarter."""
    taken = []
    for step in (1800.0, 900.0, 450.0, 56.25):
        case = wall(initial=Initial(288.15, 1.0))
        problem = lower(case, grid=make_grid(case.assembly))  # a thinner cell at the face would dry
        hours = problem.forcing.marks / 3600.0
        problem.forcing.inside[:, T_AIR] += 5.0 * np.sin(2.0 * np.pi * hours / 12.0)
        control = problem.control._replace(fixed=1, max_step=step, newton=1e-4)
        marcher = Marcher(problem._replace(control=control))
        marcher.run_to(12)
        before = problem.state.added[0]
        _, why = marcher.run_to(36)
        assert not why
        taken.append(problem.state.added[0] - before)
    errors = np.abs(np.array(taken[:-1]) - taken[-1])
    order = np.log2(errors[:-1] / errors[1:])
    print(taken, errors, order)
    assert errors[0] < 1e-3 * taken[-1]
    assert np.all(order > 1.8)
