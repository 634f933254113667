"""Where a value comes from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

#: How a value is known.
Kind = Literal["measured", "table", "fitted", "assumed", "from memory", "common practice", "demo"]


@dataclass(frozen=True)
class Source:
    """Where a value comes from.

    Parameters
    ----------
    authors : str
        Author, body or standard.
    year : int or None
    where : str
        Table, page, equation.
    kind : {'measured', 'table', 'fitted', 'assumed', 'from memory', 'common practice', 'demo'}
        'table': read in a standard, a handbook or the table of an institute, which does not say whose specimen it was.
    note : str
        What has to be known with it; for what is from memory, the reason why it stands here.
    about : str
        Property the value belongs to, e.g. ``"storage"``; empty: the whole entry.
    """

    authors: str
    year: int | None
    where: str
    kind: Kind
    note: str = ""
    about: str = ""
