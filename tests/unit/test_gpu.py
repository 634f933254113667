"""Walls on a GPU: what is refused, how walls are dealt out, and a case on a GPU that the processor plays."""

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from drydown import simulate_many
from drydown.errors import InputError
from drydown.gpu.card import trouble
from drydown.gpu.packing import lanes_for
from drydown.gpu.pools import Rows
from drydown.study import Axis, Study
from drydown.study.models import FunctionModel
from drydown.study.on_card import check

PLAYED = Path(__file__).parents[1] / "support" / "gpu_played.py"


def test_without_a_gpu_one_line_says_so():
    if not trouble():
        pytest.skip("there is a GPU here")
    with pytest.raises(InputError, match=r"device: .*use device = 'cpu'") as caught:
        simulate_many([], device="cuda")
    assert "\n" not in str(caught.value)


def test_another_device_is_refused():
    with pytest.raises(InputError, match="use 'cpu' or 'cuda'"):
        simulate_many([], device="tpu")


def test_nothing_of_a_gpu_is_imported_unasked():
    code = (
        "import sys, drydown; drydown.simulate, drydown.simulate_many; print([m for m in sys.modules if 'cuda' in m])"
    )
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert not {"numba_cuda", "numba.cuda", "drydown.gpu"} & set(said.stdout.split())


@pytest.mark.parametrize(("cells", "wanted", "lanes"), [(100, 8, 8), (7, 8, 4), (1, 8, 1), (1000, 64, 32)])
def test_lanes_are_a_power_of_two_within_the_cells(cells, wanted, lanes):
    assert lanes_for(cells, wanted) == lanes


def test_equal_rows_stand_once():
    rows = Rows(3)
    a = np.arange(6.0).reshape(3, 2)
    assert rows.add(a) == 0
    assert rows.add(a + 1.0) == 3
    assert rows.add(a.copy()) == 0
    assert rows.array().shape == (6, 3)
    np.testing.assert_array_equal(rows.array()[:, 2], 0.0)


def test_a_study_of_a_function_is_no_march():
    with pytest.raises(InputError, match="a GPU marches cases"):
        check(Study((Axis("x", values=(1.0, 2.0)),), FunctionModel(lambda x: x)))


@pytest.mark.slow
def test_a_case_on_a_played_gpu_agrees_with_the_processor():
    """Water, vapour through a film, air in a gap: every variable, and the same steps and sweeps."""
    pytest.importorskip("numba.cuda")
    env = {k: v for k, v in os.environ.items() if not k.startswith("NUMBA_")}
    said = subprocess.run([sys.executable, str(PLAYED)], capture_output=True, text=True, env=env, timeout=300)
    assert said.returncode == 0, said.stderr[-2000:]
    assert float(said.stdout) < 1e-9
