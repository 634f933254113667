"""`drydown study`: the commands, and what they say when something is wrong."""

import re
import stat
from pathlib import Path

import pytest

WRONG = [
    ('design = "gird"', "", "did you mean 'grid'"),
    ("samples = 8", "", "a grid takes no samples"),
    ('design = "sobol"', "", "'samples' is missing"),
    ('design = "sobol"\nsamples = 9', "", "power of 2, such as 8"),
    ('colour = "red"', "", "'colour' is not known here"),
    ('design = "sobol"\nsamples = "many"', "", "whole number"),
    ('vary = "nothing.py:f"', "", "no such file"),
    ("", '[[axis]]\npath = "inside.humidty"\nvalues = ["40 %"]', "'humidty' is not known here"),
    ("", '[[axis]]\npath = "layer.OBS.thickness"\nvalues = ["9 mm"]', "did you mean 'OSB'"),
    ("", '[[axis]]\npath = "layer.OSB.thickness"\nvalues = ["9"]', "no unit"),
    ("", '[[axis]]\npath = "outside.orientation"\nvalues = ["nroth"]', "no direction"),
    ("", '[[axis]]\npath = "outside.orientation"\nvalues = []', "no values"),
    ("", '[[axis]]\npath = "outside.orientation"', "no values"),
    ("", '[[axis]]\nname = "x"\nvalues = [1]', "no path in the case file, and no function"),
    ("", '[[axis]]\npath = "inside.humidity"\nvalues = ["40 %"]', "axes are called|same place"),
    ("", '[[axis]]\nname = "h"\npath = "inside.humidity"\nvalues = ["40 %"]', "same place already"),
    ("", '[[axis]]\npath = "start.humidity"\ndistribution = "norml"\nmean = "7 %"', "did you mean 'normal'"),
    ("", '[[axis]]\npath = "start.humidity"\nlow = "7 %"', "belongs to a distribution"),
    ("", '[[axis]]\npath = "start.humidity"\ndistribution = "uniform"\nlow = "7 %"\nhigh = 0.3', "need one unit"),
    (
        "",
        '[[axis]]\npath = "start.humidity"\ndistribution = "uniform"\nlow = "7 %"\nhigh = "9 %"',
        "a grid needs values",
    ),
    ("", '[[output]]\nof = "maximum_humdity"\nlayer = "OSB"', "did you mean 'maximum_humidity'"),
    ("", '[[output]]\nof = "maximum_humidity"', "needs a layer"),
    ("", '[[output]]\nof = "maximum_humidity"\nlayer = "OBS"', "no layer is called 'OBS'"),
    ("", '[[output]]\nof = "final_water"\nplace = "inner"', "does not take it; it takes name, layer"),
    ("", '[[output]]\nof = "hours_above"\nlayer = "OSB"\nhumidity = "80 degC"', "humidity"),
    ("", '[[output]]\nof = "remaining"', "two outputs are called 'remaining'"),
]


@pytest.mark.parametrize(("top", "end", "said"), WRONG, ids=[w[2] + str(i) for i, w in enumerate(WRONG)])
def test_a_wrong_study_file_gets_one_line(folder, drydown, top, end, said):
    path = folder / "study.toml"
    path.write_text(f"{top}\n{path.read_text()}\n{end}\n")
    got = drydown("study", "run", "study.toml")
    assert got.exit_code == 2 and got.stdout == ""
    assert got.stderr.count("\n") == 1 and re.search(said, got.stderr), got.stderr
    assert re.match(r"drydown: (study\.toml|axis|output|case 0 \(film = )", got.stderr)


def test_stopped_by_the_user_it_says_that_the_results_are_kept(folder, drydown, monkeypatch):
    def stopped(*args, **kwargs):
        raise KeyboardInterrupt

    monkeypatch.setattr("drydown.study.running.run", stopped)
    got = drydown("study", "run", "study.toml")
    assert got.exit_code == 130 and got.stderr.count("\n") == 1
    assert "finished is kept in study.results" in got.stderr and "nothing was written" not in got.stderr


def test_from_new_to_case_files(folder, drydown):
    (folder / "study.toml").unlink()
    assert drydown("study", "new").exit_code == 0
    assert drydown("study", "new").exit_code == 2
    text = Path("study.toml").read_text()
    assert 'base = "wall.toml"' in text
    got = drydown("study", "run", "study.toml", "--part", "1/3")
    assert got.exit_code == 0 and "part 1/3, 3 of 3 cases are there" in got.stdout, got.output
    got = drydown("study", "status", "study.toml")
    assert "3 of 8 cases, 3 of 8 blocks" in got.stdout
    got = drydown("study", "gather", "study.toml")
    assert got.exit_code == 2 and "5 of 8 blocks are missing" in got.stderr
    got = drydown("study", "run", "study.toml")
    assert got.exit_code == 0 and "8 of 8 cases are there; 5 run in" in got.stdout
    assert "8 cases. Written: study.results/result.nc" in drydown("study", "gather", "study.toml").stdout
    got = drydown("study", "effects", "study.toml", "--of", "share_inward", "--figure", "e.png")
    assert got.exit_code == 0 and "polyethylene 0.15 mm" in got.stdout and "Share of the spread" in got.stdout
    got = drydown("study", "map", "study.toml", "--of", "share_inward", "--over", "film", "amount", "--figure", "m.png")
    assert got.exit_code == 0 and "1.5 kg/m2" in got.stdout
    got = drydown("study", "lines", "study.toml", "--figure", "l.png")
    assert got.exit_code == 0, got.output
    for name in "eml":
        assert Path(f"{name}.png").stat().st_size > 10_000
    got = drydown("study", "cases", "study.toml", "--by", "share_inward", "--largest", "--number", "1")
    assert got.exit_code == 0 and "polyamide" in got.stdout.split("best")[1].split("worst")[0]
    assert len(list(Path("cases").glob("case-*.toml"))) == 2
    got = drydown("run", str(next(Path("cases").glob("*.toml"))))
    assert got.exit_code == 0, got.output


def test_wrong_arguments_get_one_line(folder, drydown):
    for arguments, said in [
        (("run", "nothing.toml"), "no such study file"),
        (("run", "study.toml", "--part", "7"), "write it as 7/200"),
        (("run", "study.toml", "--part", "8/7"), "part 8/7 does not exist"),
        (("run", "study.toml", "--dask", "tcp://127.0.0.1:9"), "no scheduler answers"),
        (("status", "study.toml"), "nothing was run yet"),
        (("slurm", "study.toml", "--parts", "50"), "has 6 blocks"),
    ]:
        got = drydown("study", *arguments)
        assert got.exit_code == 2 and got.stderr.count("\n") == 1 and said in got.stderr, got.output


def test_the_job_script_is_written_and_not_submitted(folder, drydown):
    got = drydown("study", "slurm", "study.toml", "--parts", "3", "--at-once", "2", "--partition", "night")
    assert got.exit_code == 0 and "Next: sbatch study.sh" in got.stdout
    text = Path("study.sh").read_text()
    assert "#SBATCH --array=1-3%2\n" in text and "#SBATCH --partition=night\n" in text
    assert '--part "$SLURM_ARRAY_TASK_ID/3"' in text and str(folder / "study.toml") in text
    assert stat.S_ISREG(Path("study.sh").stat().st_mode)


def test_submitting_without_slurm_says_so(folder, drydown, monkeypatch):
    monkeypatch.setenv("PATH", str(folder))
    got = drydown("study", "slurm", "study.toml", "--submit")
    assert got.exit_code == 2 and "there is no sbatch here" in got.stderr


def test_the_job_script_runs_a_part_by_itself(folder, drydown):
    """What an element of the array does, without Slurm: the script with its number set."""
    import os
    import subprocess

    drydown("study", "slurm", "study.toml", "--parts", "2")
    for number in ("2", "1"):
        got = subprocess.run(
            ["bash", "study.sh"], env={**os.environ, "SLURM_ARRAY_TASK_ID": number}, capture_output=True, text=True
        )
        assert got.returncode == 0, got.stderr
        assert f"part {number}/2, 6 of 6 cases are there" in got.stdout
    assert "6 of 6 blocks" in drydown("study", "status", "study.toml", "--check").stdout
