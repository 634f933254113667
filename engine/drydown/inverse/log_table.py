"""A table of readings as a logger's software writes it: columns between commas, semicolons or tabs, commas as points.

A comma is taken for a decimal mark only where semicolons or tabs part the columns. Days come first where points stand
between day, month and year; where strokes do, only if some day tells which number it is.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from ..arrays import Array
from ..errors import InputError

if TYPE_CHECKING:
    import pandas as pd

#: Day and month in either order, what stands between them, and the year.
_DAY = re.compile(r"^\s*(\d{1,2})([./])(\d{1,2})\2(?:\d{4}|\d{2})\b")


def read_table(path: Path) -> tuple[np.ndarray, dict[str, Array]]:
    """Return the times of a table, datetime64[s], and its other columns by their heads; what is no number is nan.

    Parameters
    ----------
    path : Path

    Raises
    ------
    InputError
        If it is no such table, or a time or a number can be read in two ways.
    """
    import pandas as pd

    mark = _mark_of(path)
    try:
        table = pd.read_csv(path, comment="#", sep=mark, dtype=str)
    except (ValueError, UnicodeDecodeError) as error:
        raise InputError(
            f"it is no table of comma separated values ({' '.join(str(error).split())[:80]})", str(path)
        ) from None
    if not isinstance(table.index, pd.RangeIndex):  # pandas takes the first cells for names of rows
        raise InputError(
            "its rows have more cells than its head; where commas are decimal marks, part the columns by semicolons",
            str(path),
        )
    table.columns = [str(c).strip() for c in table.columns]
    if not len(table.columns) or table.columns[0] != "time" or len(table.columns) < 2:
        raise InputError("its first column must be 'time', followed by what was read", str(path))
    time = _times(table["time"], f"{path}, time")
    return time, {head: _numbers(table[head], mark, f"{path}, {head}") for head in table.columns[1:]}


def _mark_of(path: Path) -> str:
    """Return what parts the columns: what stands behind 'time' in the head."""
    try:
        with path.open(encoding="utf-8-sig") as file:
            head = next((line for line in file if line.strip() and not line.lstrip().startswith("#")), "")
    except UnicodeDecodeError:
        return ","
    return next((mark for mark in ";\t" if head.partition(mark)[0].strip(' "') == "time"), ",")


def _numbers(column: pd.Series, mark: str, where: str) -> Array:
    import pandas as pd

    text = column.str.strip()
    if mark != ",":
        both = text.str.contains(",", na=False) & text.str.contains(".", regex=False, na=False)
        if both.any():
            raise InputError(f"'{text[both].iloc[0]}' has two marks; leave out that of thousands", where)
        text = text.str.replace(",", ".", regex=False)
    elif text.str.fullmatch(r"[+-]?\d+,\d+", na=False).any():
        raise InputError("commas are its decimal marks; part the columns by semicolons, or write points", where)
    return np.asarray(pd.to_numeric(text, errors="coerce"), dtype=float)


def _times(column: pd.Series, where: str) -> np.ndarray:
    import pandas as pd

    given = column.dropna()
    found = given.str.extract(_DAY)
    days_first = False
    if found[0].notna().any():
        first, second = (pd.to_numeric(found[k]) for k in (0, 2))
        days_first = bool((found[1] == ".").any() or (first > 12).any())
        mixed = found[0].isna().any() or (days_first and (second > 12).any())
        if mixed or not (days_first or (second > 12).any()):
            raise InputError(f"'{given.iloc[0]}' may be read in two ways; write it as 2022-01-15 06:00", where)
    try:
        time = pd.to_datetime(column, format="mixed", dayfirst=days_first)
    except (ValueError, TypeError):
        raise InputError("a time cannot be read; write it as 2022-01-15 06:00", where) from None
    if getattr(time.dt, "tz", None) is not None:
        raise InputError("leave out the UTC offset: times are local standard time of the climate", where)
    return np.asarray(time.to_numpy().astype("datetime64[s]"))
