"""A case written as a case file that reads back the same."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from ..case.case import Case
from ..case.sides import Physics
from ..errors import InputError
from ..files import write_text
from .inside import write_inside
from .layers import write_layers
from .loads import write_load, write_profile, write_wetting
from .outside import write_outside
from .schema import MOST
from .values import stated, within, write_section

Given = dict[str, Any]


def write_case(case: Case, path: str | Path, catalogues: tuple[str, ...] = ()) -> Path:
    """Write a case file that `read_case` reads back as the same case.

    What a file may hold beside its case, [limits] and [[variant]], is not written.

    Parameters
    ----------
    case : Case
    path : str or Path
        Weather and measured indoor air that are not installed are written beside it.
    catalogues : tuple of str
        Catalogue files, seen from the case file, with the materials and films that are not installed.

    Returns
    -------
    Path

    Raises
    ------
    InputError
        Something that a case file cannot state: a material that is in no catalogue, other physics, a side of
        one's own.
    """
    from ..catalogue.file import read_catalogue

    path = Path(path)
    if not path.parent.is_dir():
        raise InputError(f"the folder {path.parent} does not exist; make it first", str(path))
    if case.physics != Physics():
        raise InputError("a case file cannot state physics of your own; keep the default", str(path))
    profile = case.initial.profile
    if profile is not None and len(profile.depth) > MOST:
        raise InputError(
            f"a profile of {len(profile.depth)} points is too long for a case file, which holds {MOST}", str(path)
        )
    known: Given = {}
    for name in catalogues:
        known |= read_catalogue(path.parent / name)
    gaps = [layer for load in case.loads if load.ventilates for layer in load.layers]
    head: Given = {"title": case.name} | ({"catalogues": list(catalogues)} if catalogues else {})
    period = {"start": case.start, "end": case.end}
    start = stated(case.initial, "start") if profile is None else {}
    numerics = stated(case.numerics, "numerics")
    with within(str(path)):
        blocks = [
            write_section("", head, "case"),
            *write_outside(case.outside, path),
            *write_inside(case.inside, path),
            write_section("[period]", period, "period"),
            *([write_section("[start]", start, "start")] if start else []),
            *write_profile(profile),
            *write_layers(case.assembly, case.initial.layers, known, gaps),
            *(write_wetting(w) for w in case.wettings),
            *(write_load(load, case.outside) for load in case.loads),
            *([write_section("[numerics]", numerics, "numerics")] if numerics else []),
        ]
    write_text(path, "\n\n".join(blocks) + "\n")
    return path
