"""The job script of a study for Slurm: a job array whose elements each run a part."""

from __future__ import annotations

import math
import re
import shlex
import sys
from pathlib import Path
from typing import NamedTuple

from ..errors import InputError
from .plan import Study


class Array(NamedTuple):
    """What a job array asks for.

    parts : elements of the array; processors : of each; hours : time limit of each; memory : megabytes of each;
    at_once : most elements that run at a time, 0 for as many as there is room for; partition : "" for the default.
    """

    parts: int
    processors: int = 1
    hours: float = 4.0
    memory: int = 2000
    at_once: int = 0
    partition: str = ""


def _directive(text: str, what: str) -> str:
    """Return a path that may stand between double quotes in a line of Slurm, or refuse it."""
    if found := sorted(set(text) & set("\"\\'`$")):
        raise InputError(f"Slurm takes no {' '.join(found)} in the path of its log; rename the folder", what)
    return text


def job_script(study: Study, study_file: Path, store: Path, array: Array) -> str:
    """Return the job script.

    Parameters
    ----------
    study : Study
    study_file, store : Path
        Seen from every node under the same name.
    array : Array

    Raises
    ------
    InputError
        For an array without elements, or with more elements than the study has blocks.
    """
    if not 1 <= array.parts <= study.blocks:
        raise InputError(
            f"{array.parts} parts; the study has {study.blocks} blocks of {study.block_size} cases, give 1 to "
            f"{study.blocks} parts, or a smaller 'block' in the study file",
            "--parts",
        )
    for what, text in (("study", study_file), ("store", store), ("partition", array.partition)):
        if not str(text).isprintable():
            raise InputError("the name holds control characters, rename it", f"{what} {str(text)!r}")
    if array.partition and not re.fullmatch(r"[\w.+-]+(,[\w.+-]+)*", array.partition):
        raise InputError(f"{array.partition!r} is no name of a partition", "--partition")
    minutes = max(1, math.ceil(60.0 * array.hours))
    log = _directive(str(store).replace("%", "%%"), "store") + "/slurm-%a.log"
    limit = f"%{array.at_once}" if array.at_once else ""
    lines = [
        "#!/bin/bash",
        f"#SBATCH --job-name=drydown-{re.sub(r'[^A-Za-z0-9._-]+', '_', study_file.stem)}",
        f"#SBATCH --array=1-{array.parts}{limit}",
        "#SBATCH --ntasks=1",
        f"#SBATCH --cpus-per-task={array.processors}",
        f"#SBATCH --mem={array.memory}M",
        f"#SBATCH --time={minutes}",
        f'#SBATCH --output="{log}"',
        "#SBATCH --open-mode=append",
    ]
    if array.partition:
        lines.append(f"#SBATCH --partition={array.partition}")
    program = Path(sys.executable).with_name("drydown")
    start = [str(program)] if program.is_file() else [sys.executable, "-c", "from drydown.cli import main; main()"]
    command = [*start, "study", "run", str(study_file), "--store", str(store)]
    words = " ".join(shlex.quote(word) for word in command)
    lines += [
        "",
        f"# {len(study)} cases in {study.blocks} blocks. To run again what was killed, submit this once more:",
        "# only what is missing is run.",
        "export OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 MKL_NUM_THREADS=1",
        f'exec {words} --workers {array.processors} --part "$SLURM_ARRAY_TASK_ID/{array.parts}"',
    ]
    return "\n".join(lines) + "\n"
