"""Studies: nothing given becomes code, no output eats an input, no part is asked for that is not there."""

import json
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from drydown import InputError
from drydown.study import Axis, FunctionModel, Store, Study, gather, read_study, run
from drydown.study.ready import case_text, write_cases
from drydown.study.slurm import Array, job_script


def ten(a):
    return a * 10.0


def small(values=(1.0, 2.0, 3.0), block=1):
    return Study((Axis("a", values),), FunctionModel(ten), block=block)


@pytest.mark.parametrize(
    "odd",
    [
        "a\ntouch owned",
        "a b",
        "a;touch owned",
        "$(touch owned)",
        "`touch owned`",
        'a"b',
        "a'b",
        "a#b",
        "a%j",
        "-x",
        "a\\b",
    ],
)
def test_a_job_script_runs_only_what_it_should(tmp_path, odd):
    """The script is run by a shell, with a command in place of drydown that writes down what it was called with."""
    study_file, store = tmp_path / f"{odd}.toml", tmp_path / f"{odd}.results"
    try:
        text = job_script(small(), study_file, store, Array(2))
    except InputError as error:
        assert "\n" not in str(error)
        return
    directives = [line for line in text.splitlines() if line.startswith("#SBATCH")]
    assert len(directives) == 8 and not any("\n" in line for line in directives)
    name = directives[0].partition("--job-name=")[2]
    assert set(name) <= set("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789._-")
    log = next(line for line in directives if "--output=" in line)
    assert log == f'#SBATCH --output="{str(store).replace("%", "%%")}/slurm-%a.log"'
    fake = tmp_path / "fake"
    fake.write_text('#!/bin/sh\nfor a in "$@"; do printf "%s\\n" "$a"; done > "$SEEN"\n')
    fake.chmod(0o755)
    start = next(line for line in text.splitlines() if line.startswith("exec "))
    program = start.split()[1]
    (tmp_path / "job.sh").write_text(text.replace(f"exec {program}", f"exec {fake}", 1))
    subprocess.run(
        ["bash", str(tmp_path / "job.sh")], cwd=tmp_path, check=True,
        env={"PATH": "/usr/bin:/bin", "SLURM_ARRAY_TASK_ID": "2", "SEEN": str(tmp_path / "seen")},
    )  # fmt: skip
    seen = (tmp_path / "seen").read_text().splitlines()
    assert seen == ["study", "run", str(study_file), "--store", str(store), "--workers", "1", "--part", "2/2"]
    assert not (tmp_path / "owned").exists()


@pytest.mark.parametrize("partition", ["a\n#SBATCH --wrap=x", "a b", "$(x)", "a;b", "a,,b"])
def test_a_partition_is_a_name(tmp_path, partition):
    with pytest.raises(InputError) as caught:
        job_script(small(), tmp_path / "s.toml", tmp_path / "s", Array(1, partition=partition))
    assert "\n" not in str(caught.value)


TITLE = 'a\n[inside]\nmodel = "constant"\n\x7f\u2028"""'


def test_titles_and_values_stay_on_their_line(folder):
    text = (folder / "study.toml").read_text().replace('"Small study"', json.dumps(TITLE).replace("\x7f", "\\u007f"))
    (folder / "study.toml").write_text(text)
    study = read_study(folder / "study.toml")
    assert study.name == TITLE
    written = case_text(study, 0, folder)
    found = tomllib.loads(written)
    assert found["title"].startswith("a [inside] model") and "\n" not in found["title"]
    assert found["inside"] == tomllib.loads((folder / "wall.toml").read_text())["inside"] | {"humidity": "35 %"}


@pytest.mark.parametrize("faces", ["so\nuth", "south\n", "  north-west", "225 deg"])
def test_a_direction_of_a_new_case_stays_on_its_line(folder, drydown, faces):
    done = drydown("new", "new.toml", "--faces", faces)
    assert done.exit_code in (0, 2), done.stderr
    if done.exit_code == 0:
        assert "\n" not in tomllib.loads((folder / "new.toml").read_text())["outside"]["orientation"]


def test_cases_take_every_file_along(folder, drydown):
    rows = ["# name: room", "time,temperature [degC],humidity [%]"]
    rows += [f"2022-01-{1 + h // 24:02d} {h % 24:02d}:00,20,{40 + h % 5}" for h in range(1, 24 * 12)]
    (folder / "room.csv").write_text("\n".join(rows) + "\n")
    (folder / "own.toml").write_text('[film.mine]\npermeance = "100 ng/(Pa s m2)"\nsource = "s"\n[source.s]\n'
                                     'authors = "invented"\nwhere = "here"\nkind = "assumed"\n')  # fmt: skip
    text = (folder / "wall.toml").read_text()
    text = text.replace(
        'model = "constant"\ntemperature = "20 degC"\nhumidity = "45 %"', 'model = "measured"\nfile = "room.csv"'
    )
    (folder / "wall.toml").write_text('catalogues = ["own.toml"]\n' + text)
    study = (folder / "study.toml").read_text()
    (folder / "study.toml").write_text(study.replace('path = "inside.humidity"', 'path = "start.humidity"'))
    made = read_study(folder / "study.toml")
    assert {"file room.csv", "file own.toml", "file weather.csv"} <= set(made.inputs())
    before = made.inputs()
    (folder / "room.csv").write_text("\n".join(rows).replace(",20,", ",21,") + "\n")
    assert read_study(folder / "study.toml").inputs() != before
    from drydown.casefile import read_case

    for path in write_cases(made, [0, 3], folder / "deep" / "cases"):
        assert read_case(path).inside.model.record.temperature[0] == pytest.approx(294.15)


@pytest.mark.parametrize("target", ["blocks/block-000001.nc", "blocks/new.nc", "locks/x.nc"])
def test_what_is_gathered_goes_into_no_block(tmp_path, target):
    study = small()
    run(study, tmp_path / "s", workers=1)
    before = {p: p.read_bytes() for p in (tmp_path / "s" / "blocks").iterdir()}
    with pytest.raises(InputError, match="would be lost"):
        gather(study, tmp_path / "s", tmp_path / "s" / target)
    assert before == {p: p.read_bytes() for p in (tmp_path / "s" / "blocks").iterdir()}


def test_the_weather_is_not_gathered_over(folder, drydown):
    assert drydown("study", "run", "study.toml").exit_code == 0
    (folder / "weather.nc").symlink_to("weather.csv")
    before = (folder / "weather.csv").read_bytes()
    done = drydown("study", "gather", "study.toml", "-o", "weather.nc")
    assert done.exit_code == 2 and "would be lost" in done.stderr
    assert (folder / "weather.csv").read_bytes() == before


def test_a_damaged_manifest_is_made_anew_on_request(tmp_path):
    study = small()
    run(study, tmp_path / "s", workers=1)
    truth = gather(study, tmp_path / "s").load()
    manifest = tmp_path / "s" / "manifest.json"
    for damage in ("", "{", "[" * 100_000, '{"format": 1}', "null", '{"format": 1, "hash": 3, "inputs": [1]}'):
        manifest.write_text(damage)
        with pytest.raises(InputError, match="`drydown study mend` makes it anew from the blocks"):
            run(study, tmp_path / "s", workers=1)
        assert Store(tmp_path / "s", study).mend() == 3
        assert gather(study, tmp_path / "s").load().equals(truth)
    other = small((1.0, 2.0, 4.0))
    manifest.write_text("{")
    with pytest.raises(InputError, match="made with other inputs"):
        Store(tmp_path / "s", other).mend()
    assert manifest.read_text() == "{"
    with pytest.raises(InputError, match="no block"):
        Store(tmp_path / "empty", study).mend()


def test_a_store_of_a_later_format_is_said(tmp_path):
    run(small(), tmp_path / "s", workers=1)
    manifest = tmp_path / "s" / "manifest.json"
    manifest.write_text(json.dumps(json.loads(manifest.read_text()) | {"format": 99}))
    with pytest.raises(InputError, match="it has the format 99, this version reads 1"):
        run(small(), tmp_path / "s", workers=1)


def test_a_block_that_declares_more_than_it_should_is_set_aside(tmp_path):
    import netCDF4

    study = small()
    run(study, tmp_path / "s", workers=1)
    with netCDF4.Dataset(tmp_path / "s" / "blocks" / "block-000001.nc", "w") as file:
        file.createDimension("case", 400_000_000)
        for name, kind in (("value", "f8"), ("failed", "i1"), ("reason", "i1")):
            file.createVariable(name, kind, ("case",), zlib=True)
        file.setncatts({"study": Store(tmp_path / "s", study).hash, "block": 1, "content": "x"})
    done = run(study, tmp_path / "s", workers=1)
    assert len(done.damaged) == 1 and "shape (400000000,)" in done.damaged[0]
    assert gather(study, tmp_path / "s")["value"].values.tolist() == [10.0, 20.0, 30.0]


PARTS = ("6/5", "0/5", "1/0", "a/b", "1", "1/" + "9" * 30, "²/3", "-1/3", "1/2/3")


@pytest.mark.parametrize("part", PARTS)
def test_parts_that_do_not_exist_are_refused(folder, drydown, part):
    done = drydown("study", "run", "study.toml", "--part", part)
    assert done.exit_code == 2 and "--part" in done.stderr and len(done.stderr.splitlines()) == 1
    assert not (folder / "study.results").exists()


@pytest.mark.parametrize("option", ["--workers", "--part"])
def test_thirty_nines(folder, drydown, option):
    done = drydown("study", "run", "study.toml", option, "9" * 30)
    assert done.exit_code == 2 and len(done.stderr.splitlines()) == 1


def test_more_cases_than_can_be_run_are_refused_before_they_are_made(folder):
    text = (
        (folder / "study.toml")
        .read_text()
        .replace('"35 %", "45 %", "55 %"', ", ".join(f'"{40 + i / 1e4} %"' for i in range(9999)))
    )
    more = (
        '[[axis]]\npath = "start.humidity"\nvalues = [' + ", ".join(f'"{50 + i / 1e4} %"' for i in range(9999)) + "]\n"
    )
    (folder / "study.toml").write_text(text + more)
    with pytest.raises(InputError, match="cases; at most 10000000 can be run"):
        read_study(folder / "study.toml").points  # noqa: B018


@pytest.mark.skipif(sys.platform == "win32", reason="no such links there")
def test_a_store_may_move(tmp_path):
    study = small()
    run(study, tmp_path / "here", workers=1)
    Path(tmp_path / "here").rename(tmp_path / "there")
    assert run(study, tmp_path / "there", workers=1).present == 3
    assert gather(study, tmp_path / "there")["value"].values.tolist() == [10.0, 20.0, 30.0]
