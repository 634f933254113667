"""The commands of a study that touch its store and its cluster, not its cases: `mend` and `slurm`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ..errors import InputError
from ..files import write_text
from .frame import Stop, keep_inputs, say

if TYPE_CHECKING:
    from ..study.plan import Study

PATH = click.Path(path_type=Path)
study_file_argument = click.argument("study_file", metavar="STUDY.toml", type=PATH)
store_option = click.option("--store", metavar="FOLDER", type=PATH, help="Where the results are kept [STUDY.results].")


def read(study_file: Path, store: Path | None) -> tuple[Study, Path]:
    """Return a study and the folder of its results."""
    from ..study.study_file import read_study

    return read_study(study_file), store or study_file.with_name(study_file.stem + ".results")


def warn_of_python(study_file: Path, made: Study) -> None:
    """Say that a study file names Python, which is run with it."""
    vary = getattr(made.model, "vary", None)
    path = getattr(vary, "path", "")
    if path:
        say(f"{study_file} names {Path(path).name}, which is run as Python: read it before you run a study of others")


def _given(made: Study) -> list[tuple[str, Path]]:
    """Return the files that a study reads, in words and by name."""
    from ..casefile import files_of
    from ..study.models import CaseFileModel

    return files_of(made.model.document, made.model.path) if isinstance(made.model, CaseFileModel) else []


@click.command(short_help="Make a damaged manifest anew.")
@study_file_argument
@store_option
def mend(study_file: Path, store: Path | None) -> None:
    """Make the manifest of a store anew from its blocks, where all of them were made with the inputs of the study."""
    from ..study.store import Store

    made, folder = read(study_file, store)
    found = Store(folder, made).mend()
    click.echo(f"{made.name}: {found} blocks vouch for it. Written: {folder / 'manifest.json'}")


@click.command(short_help="Write a job script for Slurm.")
@study_file_argument
@store_option
@click.option("--parts", type=click.IntRange(1, 1_000_000), help="Elements of the job array [up to 200].")
@click.option("--processors", type=click.IntRange(1, 4096), default=1, show_default=True, help="Of each element.")
@click.option(
    "--hours", type=click.FloatRange(0.01, 8766.0), default=4.0, show_default=True, help="Time limit of each."
)
@click.option(
    "--memory", type=click.IntRange(100, 100_000_000), default=2000, show_default=True, help="Megabytes of each."
)
@click.option("--at-once", type=click.IntRange(0, 1_000_000), default=0, help="Most elements that run at a time.")
@click.option("--partition", default="", help="Of the cluster.")
@click.option("-o", "--output", metavar="JOB.sh", type=PATH, help="The script [beside the study file].")
@click.option("--submit", is_flag=True, help="Hand it to sbatch.")
def slurm(
    study_file: Path, store: Path | None, parts: int | None, output: Path | None, submit: bool, **given: Any
) -> None:
    """Write a job script whose elements each run a part; submit it only where --submit is given."""
    import subprocess

    from ..study.slurm import Array, job_script
    from ..study.store import Store

    made, folder = read(study_file, store)
    made.check()
    target = output or study_file.with_suffix(".sh")
    keep_inputs({"--output": target}, [("the study file", study_file), ("the store", folder), *_given(made)])
    array = Array(parts or min(200, made.blocks), **given)
    text = job_script(made, study_file.resolve(), folder.resolve(), array)
    Store(folder, made).begin()
    write_text(target, text)
    click.echo(f"Written: {target}, {array.parts} parts of {made.blocks} blocks")
    if not submit:
        click.echo(f"Next: sbatch {target}, or the same command with --submit")
        return
    try:
        got = subprocess.run(["sbatch", str(target)], capture_output=True, text=True, check=False)
    except FileNotFoundError:
        raise InputError("there is no sbatch here; submit the script where Slurm is", "--submit") from None
    if got.returncode:
        raise Stop(f"sbatch refused it: {got.stderr.strip() or got.stdout.strip()}")
    click.echo(got.stdout.strip())
