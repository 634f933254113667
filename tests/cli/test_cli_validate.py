"""`drydown validate`: the table, the files it writes, its exit codes; and the mesh check of a run."""

from __future__ import annotations

import json

import pytest
from drydown.errors import InputError


def test_table_and_files(drydown, tmp_path):
    done = drydown("validate", "hamstad-2", "film", "--out", str(tmp_path / "v"), "--processes", "1")
    assert done.exit_code == 0, done.output
    assert "hamstad-2" in done.output and "within" in done.output
    assert "2 of 2 cases within their bands" in done.output
    plain = json.loads((tmp_path / "v/validation.json").read_text())
    assert plain["passed"] is True and [c["name"] for c in plain["cases"]] == ["hamstad-2", "film"]
    assert all(check["passed"] for case in plain["cases"] for check in case["checks"])
    assert (tmp_path / "v/film.png").stat().st_size > 5000
    assert "| hamstad-2" not in (tmp_path / "v/index.md").read_text()
    assert "[hamstad-2](#hamstad-2)" in (tmp_path / "v/index.md").read_text()


def test_list_names_what_is_not_run(drydown):
    done = drydown("validate", "--list")
    assert done.exit_code == 0
    assert "en15026" in done.output and "not run: HAMSTAD 4" in done.output


def test_unknown_case_is_one_line(drydown):
    done = drydown("validate", "hamstadt")
    assert done.exit_code == 2
    assert "did you mean 'hamstad-" in done.output


def test_an_error_outside_its_band_ends_with_1(drydown, monkeypatch):
    from drydown_validation import suite
    from drydown_validation.cases import case
    from drydown_validation.report import Check, Outcome

    bad = Outcome(case("film").ABOUT, (Check("flux", 2.0, 1.0),), 0.0)
    monkeypatch.setattr(suite, "run", lambda *args: [bad])
    done = drydown("validate", "film")
    assert done.exit_code == 1
    assert "OUTSIDE" in done.output and "0 of 1 cases within their bands; not: film" in done.output


def test_without_a_validation_the_message_says_so(monkeypatch):
    import importlib.metadata

    from drydown.cli.validating import suite

    monkeypatch.setattr(importlib.metadata, "entry_points", lambda group: [])
    with pytest.raises(InputError, match="no validation is installed"):
        suite()


def test_mesh_check_is_said_and_kept(drydown, folder):
    import xarray as xr

    done = drydown("run", "wall.toml", "--check-mesh", "-o", "r.nc")
    assert done.exit_code == 0, done.output
    assert "Error of the mesh, estimated by a run in" in done.output
    with xr.open_dataset(folder / "r.nc") as data:
        assert 0.0 < data.attrs["mesh_error_humidity"] < 0.02
        assert data.attrs["mesh_error_cells"] == 3 * data.sizes["cell"]
