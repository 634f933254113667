"""Cases of a study written as case files, to be run one by one."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from ..casefile import files_of
from ..casefile.schema import FILES, ONCE
from ..errors import InputError
from ..files import keep_apart, write_text
from ..toml import one_line
from .models import CaseFileModel
from .plan import Study
from .toml_text import toml_text


def case_text(study: Study, case: int, folder: Path) -> str:
    """Return a case of a study as the text of a case file that stands in `folder`.

    Raises
    ------
    InputError
        If the cases do not come from a case file alone.
    """
    model = study.model
    if not isinstance(model, CaseFileModel) or model.vary is not None:
        raise InputError("its cases are made by a function; a case file cannot hold them", f"study '{study.name}'")
    if not 0 <= case < len(study):
        raise InputError(f"there is no case {case}; the last is {len(study) - 1}", f"study '{study.name}'")
    point = study.point(case)
    document = model.document_at(point)

    def moved(name: str) -> str:
        there = (model.path.parent / name).resolve()
        try:
            return Path(os.path.relpath(there, folder.resolve())).as_posix()
        except ValueError:  # on another drive
            return there.as_posix()

    for section in ONCE:
        for key in FILES:
            if isinstance(table := document.get(section), dict) and isinstance(table.get(key), str):
                table[key] = moved(table[key])
    if "catalogues" in document:
        document["catalogues"] = [moved(name) for name in document["catalogues"]]
    document = {"title": "", **{k: v for k, v in document.items() if k != "variant"}}
    document["title"] = f"{one_line(study.name)}, case {case}"
    said = "".join(f"#   {name} = {one_line(value)}\n" for name, value in point.items())
    return f"# Case {case} of the study '{one_line(study.name)}':\n{said}\n{toml_text(document)}"


def write_cases(study: Study, cases: Sequence[int], folder: str | Path) -> list[Path]:
    """Write cases of a study as case files named after their numbers; files that are there are replaced.

    Parameters
    ----------
    study : Study
    cases : sequence of int
        Numbers of the cases.
    folder : str or Path
        Made where it is not there.

    Returns
    -------
    list of Path
    """
    folder = Path(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(f"the folder cannot be made ({error.strerror})", str(folder)) from None
    width = len(str(len(study) - 1))
    out = []
    for case in cases:
        path = folder / f"case-{case:0{width}d}.toml"
        if isinstance(study.model, CaseFileModel):
            keep_apart(path, files_of(study.model.document, study.model.path), str(path))
        write_text(path, case_text(study, case, folder))
        out.append(path)
    return out
