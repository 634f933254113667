"""What a case file says of itself beside its case: the units it is told in, and what heads its sheet."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..quantities import System
from ..text import day
from ..units import system_of
from .reading import load
from .schema import SECTIONS
from .values import read_section


@dataclass(frozen=True)
class Heading:
    """What stands above the answer.

    Parameters
    ----------
    system : {'SI', 'US'}
        Units that people read it in.
    address, builder, date : str
        Empty: left to be filled in by hand.
    line : str
        Which line through the wall the layers are: 'clear wall', 'stud', 'sill', 'rim joist' or 'window corner'.
    """

    system: System = "SI"
    address: str = ""
    builder: str = ""
    date: str = ""
    line: str = "clear wall"


def read_heading(path: str | Path) -> Heading:
    """Return what a case file says of itself.

    Raises
    ------
    InputError
        As `drydown.casefile.read_case`.
    """
    return heading_of(load(Path(path)), path)


def heading_of(data: dict[str, Any], path: str | Path) -> Heading:
    """Return what the sections of a case file that is loaded already say of it."""
    top = read_section({k: v for k, v in data.items() if k in SECTIONS["case"]}, "case", str(path))
    date = top.get("date")
    return Heading(
        system_of(top.get("units", "metric"), f"{path}, units"),
        top.get("address", ""),
        top.get("builder", ""),
        "" if date is None else day(date),
        top.get("line", "clear wall"),
    )
