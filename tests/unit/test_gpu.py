"""Walls on a GPU: what is refused, how walls are dealt out, and a case on a GPU that the processor plays."""

import json
import os
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from drydown import simulate_many
from drydown.errors import InputError
from drydown.gpu.card import trouble
from drydown.gpu.packing import lanes_for
from drydown.gpu.pools import Rows, alike, are_alike
from drydown.inverse import derivatives, on_card
from drydown.inverse.derivatives import sensitivities
from drydown.inverse.free import Free, free, put_all
from drydown.inverse.many_draws import sensitivities_many
from drydown.inverse.marching import march
from drydown.inverse.on_card import BESIDE, Drawn, ManyObserved, _differences, sharing_tables
from drydown.inverse.setting import number
from drydown.inverse.stacking import scaled_grid
from drydown.lowering.problem import lower
from drydown.run.simulation import SimulationError
from drydown.study import Axis, Study
from drydown.study.models import FunctionModel
from drydown.study.on_card import check

SUPPORT = Path(__file__).parents[1] / "support"


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


def _played(script: str) -> str:
    """Run a script of `tests/support` where the processor plays the GPU; return what it printed."""
    pytest.importorskip("numba.cuda")
    env = {k: v for k, v in os.environ.items() if not k.startswith("NUMBA_")}
    said = subprocess.run(
        [sys.executable, str(SUPPORT / script)], capture_output=True, text=True, env=env, timeout=1800
    )
    assert said.returncode == 0, said.stderr[-2000:]
    return said.stdout


@pytest.mark.slow
def test_a_case_on_a_played_gpu_agrees_with_the_processor():
    """Water, vapour through a film, air in a gap: every variable, and the same steps and sweeps."""
    assert float(_played("gpu_played.py")) < 1e-9


@pytest.mark.slow
def test_a_study_on_a_played_gpu_goes_on_after_a_break_and_says_where_it_was_computed():
    """Broken off after one block: that block stays; every value is that of the processor, criteria among them."""
    worst, present, computed, failed, machine = _played("gpu_study.py").split("|")
    assert float(worst) < 1e-9
    assert (int(present), int(computed), int(failed)) == (1, 1, 0)
    assert "card: none, played by the processor" in machine


@pytest.mark.slow
def test_derivatives_on_a_played_gpu_are_the_tangents_of_the_processor():
    """By an input of a material, of a side, of a film and of a sensor: walls that march in step, after one that led."""
    import gpu_derivatives as small

    found = json.loads(_played("gpu_derivatives.py"))
    case = small.case()
    here = sensitivities_many(case, small.inputs(case), small.SENSORS, small.DRAWS)
    assert found["trouble"] == [""]
    np.testing.assert_allclose(found["reading"], here["reading"], rtol=1e-10)
    by = here["by_coordinate"].values[0, -1]
    assert np.all(by[:, :3] != 0.0) and by[0, 3] != 0.0
    np.testing.assert_allclose(np.array(found["by_coordinate"])[0, -1], by, rtol=1e-4, atol=1e-12)
    first, second = (march(p, cells=[2], newton=p.control.newton)[0].u[-1, 0] for p in small.hurried())
    assert abs(first - second) > 1e-6  # in its own steps the second ends elsewhere
    np.testing.assert_allclose(found["in step"], first, rtol=1e-12)


def test_one_case_on_a_card_has_the_mesh_and_the_dataset_of_the_processor(monkeypatch):
    import gpu_derivatives as small

    case = small.case()
    frees, z = [free(case, "layer.OSB.thickness")], np.array([0.7])
    base = put_all(case, frees, z)
    here = sensitivities(case, frees, small.SENSORS, z)
    meshes = []

    def marched(case, free, sensors, z, newton, *, grid, progress):
        meshes.append(scaled_grid(grid, case, base).dx)
        value, by = here["reading"].values[None], here["by_coordinate"].values[None]
        return ManyObserved(here["time"].values, value, by, by[:, 0], (why,))

    monkeypatch.setattr(derivatives, "need_device", lambda device: None)
    monkeypatch.setattr(on_card, "observed_on_card", marched)
    why = ""
    found = sensitivities(case, frees, small.SENSORS, z, device="cuda")
    np.testing.assert_allclose(meshes[0], lower(base).grid.dx, rtol=1e-14)
    assert found.attrs.pop("marched_in_step") == "layer.OSB.thickness"
    assert here.attrs.pop("marched_in_step") == ""
    assert found.identical(here)
    why = "it could not be marched"
    with pytest.raises(SimulationError, match=why):
        sensitivities(case, frees, small.SENSORS, z, device="cuda")


def test_draws_need_a_coordinate_for_each_input():
    with pytest.raises(InputError, match=r"z: its shape is \(3,\); \(draws, 0\) is needed"):
        sensitivities_many(None, [], [], np.zeros(3))


def test_walls_beside_each_other_hold_a_table_once():
    import gpu_derivatives as small

    wall = small.case()
    first, again = (lower(number(wall, "layer.OSB.permeability_factor").put(x)) for x in (1.0, 2.0))
    a, b = sharing_tables([first, again])
    assert are_alike(first, again) and alike(first) == alike(again)
    assert a.sampled.tables.material is b.sampled.tables.material
    assert len(a.sampled.tables.material) < len(first.sampled.tables.material) + len(again.sampled.tables.material)
    for old, new in ((first, a), (again, b)):
        x, y = old.sampled.tables, new.sampled.tables
        for m, n in enumerate(x.count):
            np.testing.assert_array_equal(x.material[x.offset[m] :][:n], y.material[y.offset[m] :][:n])


def test_where_one_side_has_no_march_the_other_is_held_against_the_wall():
    wall, up, down = (np.full((3, 1), x) for x in (1.0, 1.0 + 4.0 * BESIDE, 1.0 - 2.0 * BESIDE))
    draw = Drawn([], [Free("layer.OSB.thickness", 1.0, 1.0)], [], np.zeros(1))
    for said, slope, why in (
        (["", "", ""], 3.0, ""),
        (["", "up", ""], 2.0, ""),
        (["", "", "down"], 4.0, ""),
        (["", "up", "down"], np.nan, "up"),
        (["wall", "wall", "wall"], np.nan, "wall"),
    ):
        by = np.zeros((3, 1, 1))
        _, told = _differences(draw, [wall, up, down], said, by)
        np.testing.assert_allclose(by, slope)
        assert told == why
    assert _differences(draw, [wall, up, down], ["", "", ""], by)[0] == pytest.approx(1.0 / 3.0)


def test_walls_march_with_those_whose_steps_they_take(monkeypatch):
    from drydown.gpu import in_step

    problem = SimpleNamespace(wall=SimpleNamespace(dx=np.zeros(100)))
    monkeypatch.setattr(in_step, "alike", lambda p: b"")
    monkeypatch.setattr(in_step, "room_on_card", lambda: 7.0)
    monkeypatch.setattr(in_step, "_bytes", lambda p: 1.0)
    of = [0, 0, 0, 3, 3, 3, 6, 6, 6]
    assert in_step._batches([problem] * 9, of) == [[0, 1, 2, 3, 4, 5], [6, 7, 8]]


def test_walls_are_dealt_out_to_cards_and_few_walls_get_more_threads(monkeypatch):
    from drydown.gpu import together
    from drydown.gpu.marching import wanted_lanes

    problem = SimpleNamespace(wall=SimpleNamespace(dx=np.zeros(100)))
    monkeypatch.setattr(together, "alike", lambda p: b"")
    monkeypatch.setattr(together, "free_memory", lambda: 1e12)
    monkeypatch.setattr(together, "bytes_of", lambda p: 1e6)
    for walls, cards, sizes in ((100, 4, [100]), (8192, 2, [4096, 4096]), (70000, 1, [65536, 4464])):
        assert [len(b) for b in together._batches([problem] * walls, cards)] == sizes
    assert [wanted_lanes(n) for n in (1, 1024, 1100, 2048, 30000)] == [32, 32, 32, 16, 8]
