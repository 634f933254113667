"""The commands from end to end, in this process."""

import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import xarray as xr


def test_new_writes_a_case_that_can_be_read_and_never_overwrites(folder, drydown):
    from drydown.casefile import read_case

    result = drydown("new", "mine.toml")
    assert result.exit_code == 0, result.stderr
    assert "drydown dryout mine.toml" in result.stdout
    case = read_case("mine.toml")
    assert [layer.name for layer in case.assembly.layers][2] == "OSB"
    assert case.assembly.layers[3].thickness == pytest.approx(5.5 * 0.0254)
    assert case.wettings[0].amount == 2.0
    Path("mine.toml").write_text("mine")
    assert drydown("new", "mine.toml").exit_code == 2
    assert Path("mine.toml").read_text() == "mine"


def test_dryout_answers_in_words_and_writes_both_files(folder, drydown):
    short = " ".join(drydown("dryout", "wall.toml").stdout.split())
    assert "--sources" in short and "Local codes" in short
    assert "balance closes to" not in short and "Criteria, with their sources" not in short
    result = drydown("dryout", "wall.toml", "-o", "trial.nc", "--figure", "trial.png", "--sources")
    assert result.exit_code == 0, result.stderr
    assert result.stderr == ""
    assert "0.5 kg/m2 of water got into 'OSB' on 3 January 2022, over 6 hours." in result.stdout
    text = " ".join(result.stdout.split())
    for words in ("outward", "inward", "still there", "balance closes to", "Local codes"):
        assert words in text
    with xr.open_dataset("trial.nc") as trial:
        left = trial["left"].sum("way") + trial["excess"] - trial["added"]
        assert float(abs(left).max()) < 1e-6
        said = re.search(r"([\d.]+) % went outward and ([\d.]+) % inward", text)
        assert said, text
        assert float(said[2]) == pytest.approx(100 * trial.attrs["share_inward"], abs=0.5)
    assert Path("trial.png").read_bytes().startswith(b"\x89PNG")
    names = {path.name for path in folder.iterdir()}
    assert names == {"wall.toml", "weather.csv", "trial.nc", "trial.png"}


def test_run_says_the_humidity_of_every_layer(folder, drydown):
    result = drydown("run", "wall.toml", "-o", "run.nc", "--figure", "run.svg")
    assert result.exit_code == 0, result.stderr
    with xr.open_dataset("run.nc") as run:
        assert run.sizes["time"] == 241
        for name in ("OSB", "mineral wool", "gypsum board"):
            line = next(x for x in result.stdout.splitlines() if x.startswith(name))
            here = run["relative_humidity"].values[:, run["layer_of_cell"].values == name]
            assert int(line.split()[-3]) == round(100 * here.max())
            assert float(line.split()[-1]) == pytest.approx(float(run["layer_water"].sel(layer=name)[-1]), abs=6e-4)
    assert "<svg" in Path("run.svg").read_text()
    alone = drydown("run", "wall.toml")
    assert alone.stdout + "Written: run.nc, run.svg\n" == result.stdout


def test_a_file_that_was_there_is_replaced_only_when_all_is_well(folder, drydown):
    Path("out.nc").write_text("kept")
    Path("wall.toml").write_text(Path("wall.toml").read_text().replace("0.5 kg/m2", "50 kg/m2"))
    assert drydown("run", "wall.toml", "-o", "out.nc").exit_code == 2
    assert Path("out.nc").read_text() == "kept"


@pytest.mark.parametrize("command", ["run", "dryout"])
def test_a_run_that_cannot_go_on_keeps_what_it_reached(command, folder, drydown, monkeypatch):
    import drydown.run.simulation as simulation
    from drydown.kernel.layout import Status
    from drydown.lowering import marcher

    real = simulation.chunks

    def broken(problem, progress=None):
        yield from real(problem, progress)
        sentence = marcher.explain(problem, Status.STEP_TOO_SMALL, 7200.0, 0.01, 0)
        raise simulation.SimulationError(sentence)

    monkeypatch.setattr(simulation, "chunks", broken)
    result = drydown(command, "wall.toml", "-o", "out.nc")
    assert result.exit_code == 3
    (line,) = result.stderr.splitlines()
    assert line.startswith("drydown: wall.toml: 2022-01-01T02:00:00: no step")
    assert "layer 'OSB'" in line and line.endswith("out.nc.partial")
    with xr.open_dataset("out.nc.partial", engine="netcdf4") as partial:
        assert "relative_humidity" in partial
    assert {path.name for path in folder.iterdir()} == {"wall.toml", "weather.csv", "out.nc.partial"}


@pytest.mark.parametrize("command", ["run", "dryout"])
def test_stopping_leaves_nothing_behind(command, folder, drydown, monkeypatch):
    import drydown.run.simulation as simulation

    real = simulation.chunks

    def stopped(problem, progress=None):
        yield next(real(problem, progress))
        raise KeyboardInterrupt

    monkeypatch.setattr(simulation, "chunks", stopped)
    result = drydown(command, "wall.toml", "-o", "out.nc")
    assert result.exit_code == 130
    assert result.stderr.strip() == "drydown: stopped; nothing was written"
    assert {path.name for path in folder.iterdir()} == {"wall.toml", "weather.csv"}


def test_a_disk_that_is_full_leaves_no_half_file(folder, drydown, monkeypatch):
    def full(self, path, **kwargs):
        Path(path).write_text("half")
        raise OSError(28, "No space left on device", str(path))  # as the system says it

    monkeypatch.setattr(xr.Dataset, "to_netcdf", full)
    result = drydown("dryout", "wall.toml", "-o", "out.nc")
    assert result.exit_code == 2
    assert "the disk is full" in result.stderr and len(result.stderr.splitlines()) == 1
    assert {path.name for path in folder.iterdir()} == {"wall.toml", "weather.csv"}


def test_materials_are_listed_and_sorted_out(drydown):
    everything = drydown("materials").stdout
    assert re.search(r"^OSB +650", everything, re.M)
    films = drydown("materials", "--kind", "film", "--below", "1perm", "--units", "us").stdout
    assert "OSB" not in films and "weather-resistive membrane" not in films
    row = next(line for line in films.splitlines() if line.startswith("polyethylene 0.15 mm"))
    assert float(row.split()[3]) == pytest.approx(3.4 / 57.2, rel=0.01)
    above = drydown("materials", "--above", "1perm").stdout
    assert "weather-resistive membrane" in above and "polyethylene" not in above


def test_one_material_is_shown_with_its_sources(drydown):
    text = drydown("materials", "osb").stdout
    assert "OSB: a material" in text and "density 650 kg/m3" in text
    assert "Source of" in text and "table 5" in text
    assert "a film" in drydown("materials", "6 mil polyethylene").stdout


def test_one_material_is_drawn(drydown, folder):
    for name, units in (("fibre cement", "si"), ("polyamide film", "us")):
        result = drydown("materials", name, "--units", units, "--figure", "entry.png")
        assert result.exit_code == 0 and result.stdout.endswith("Written: entry.png\n")
        assert Path("entry.png").stat().st_size > 20000


def test_materials_are_sorted_out_by_tag(drydown):
    cladding = drydown("materials", "--tag", "cladding").stdout
    assert "fibre cement" in cladding and "mineral wool" not in cladding
    assert "latex paint" in drydown("materials", "--tag", "paint", "--below", "10 perm").stdout
    assert drydown("materials", "--tag", "cladding", "--kind", "film").stdout.strip() == "No film is like that."


OWN = """
[material."my board"]
like = "wood fibreboard"
density = "180 kg/m3"

[material."empty board"]
like = "wood fibreboard"
saturation = "20 kg/m3"

[film."my sheet"]
permeance = "0.04 perm"
"""


def test_entries_of_a_file_of_ones_own_are_listed_checked_and_shown(drydown, folder):
    case = Path("wall.toml").read_text() + OWN
    catalogue = OWN.replace("[film", 'source = "s"\n[film').replace('"0.04 perm"', '"0.04 perm"\nsource = "s"')
    catalogue += '[source.s]\nauthors = "a"\nwhere = "b"\nkind = "demo"\n'
    for name, text in (("case.toml", case), ("mine.toml", catalogue)):
        Path(name).write_text(text, encoding="utf-8")
        listed = drydown("materials", "--from", name)
        assert listed.exit_code == 0, listed.output
        assert re.search(r"^my board +180", listed.stdout, re.M) and re.search(r"^my sheet ", listed.stdout, re.M)
        assert "OSB" not in listed.stdout and "empty board " not in listed.stdout
        assert len(listed.stderr.splitlines()) == 1 and "'empty board'" in listed.stderr
        shown = drydown("materials", "my board", "--from", name, "--figure", "own.png")
        assert shown.exit_code == 0 and "density 180 kg/m3" in shown.stdout and Path("own.png").exists()
        wrong = drydown("materials", "my bord", "--from", name)
        assert wrong.exit_code == 2 and "did you mean 'my board'" in wrong.stderr and name in wrong.stderr
        broken = drydown("materials", "empty board", "--from", name)
        assert broken.exit_code == 2 and len(broken.stderr.splitlines()) == 1
    nowhere = drydown("materials", "--from", "none.toml")
    assert nowhere.exit_code == 2 and "none.toml" in nowhere.stderr


def test_climates_are_listed_and_shown(drydown):
    text = drydown("climates").stdout
    assert re.search(r"^fernmoor +synthetic", text, re.M)
    months = drydown("climates", "fernmoor").stdout
    assert re.search(r"^January +-\d", months, re.M)


def test_help_is_quick_and_loads_nothing_heavy():
    code = (
        "import sys, drydown.cli; "
        "heavy = {'numpy', 'xarray', 'pandas', 'scipy', 'numba', 'pint', 'pvlib', 'matplotlib', 'netCDF4'}; "
        "print(sorted(heavy & set(sys.modules)))"
    )
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True).stdout == "[]\n"
    # what is loaded is what it takes, on any machine: 0.1 s on a usual one
    code = (
        "import sys\nfrom drydown.cli import main\ntry:\n    main(['--help'])\nfinally:\n"
        "    print(len(sys.modules), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.returncode == 0 and "dryout" in done.stdout
    assert int(done.stderr) < 250, done.stderr


def test_progress_speaks_up_only_on_long_runs(capsys, monkeypatch):
    from drydown.cli import frame as cli_frame

    clock = iter(np.arange(0.0, 100.0, 13.0))
    monkeypatch.setattr(cli_frame.time, "monotonic", lambda: float(next(clock)))
    with cli_frame.Progress("running") as progress:
        for fraction in (0.1, 0.2, 0.3, 0.4):
            progress(fraction)
    assert capsys.readouterr().err == "drydown: running: 30% done\n"


def test_progress_shows_a_bar_on_a_terminal(capsys, monkeypatch):
    from drydown.cli import frame as cli_frame

    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    with cli_frame.Progress("running") as progress:
        progress._show()
        progress(0.4)
        assert progress._bar.tasks[0].completed == 0.4
        assert progress._bar.tasks[0].description == "running"
    assert progress._bar is None
