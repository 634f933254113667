"""Derivatives of every flux function of the kernel against differences, on drawn states; DRYDOWN_SEED draws others."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

SCRIPT = Path(__file__).parents[1] / "support" / "flux_jacobians.py"
FUNCTIONS = ("interior", "interface", "surface", "imposed", "through_film", "by_air")


@pytest.fixture(scope="module")
def measured():
    """Measure in a process without the compiler: every function is called as it stands in the source."""
    seed = int(os.environ.get("DRYDOWN_SEED", "11"))  # of few draws the last hundredth is one of them, whatever it is
    environment = {**os.environ, "NUMBA_DISABLE_JIT": "1"}
    done = subprocess.run(
        [sys.executable, str(SCRIPT), str(seed), "4"], env=environment, capture_output=True, text=True, check=True
    )
    print(f"seed {seed}")
    return json.loads(done.stdout)


@pytest.mark.parametrize("name", FUNCTIONS)
def test_derivatives_are_those_of_the_flux(measured, name):
    found = measured[name]
    print(f"{name}: median {found['median']:.1e}, nine in ten below {found['ninth']:.1e}, worst {found['worst']:.1e}")
    assert found["median"] < 1e-5
    assert found["ninth"] < 1e-4


@pytest.mark.parametrize("name", ["interface", "surface"])
def test_how_far_a_face_is_off_at_its_usual_tolerance(measured, name):
    """The last correction of a face is applied, so that what is left goes with the square of the tolerance."""
    found = measured[name]
    print(f"{name}: flux off by {found['off_median']:.1e} (median), {found['off_worst']:.1e} (worst) of itself")
    assert found["off_median"] < 1e-5
    assert found["off_99"] < 1e-2


def test_factors_serve_a_further_right_hand_side(measured):
    """Against a dense solution, across the border of two blocks of rows."""
    assert measured["elimination"]["off"] < 1e-11
