"""What differs between two walls, in a sentence."""

from __future__ import annotations

from difflib import SequenceMatcher
from typing import Any

from ..case.assembly import Layer
from ..case.case import Case
from ..case.wetting import Wetting
from ..text import listed, plain, without_size
from .answer import event

#: Most differences that are named.
MOST = 4


def difference(before: Case, after: Case) -> str:
    """Return in what a case differs from another, the layers first; empty: in nothing that is told.

    Parameters
    ----------
    before, after : Case
    """
    found = [*_parts(before, after), *_water(before, after)]
    if before.outside != after.outside:
        found.append("another outside or weather")
    if before.inside != after.inside:
        found.append("other indoor air")
    gone = [x.label for x in before.loads if x not in after.loads]
    new = [x.label for x in after.loads if x not in before.loads]
    found += [f"with {x}" for x in new if x not in gone] + [f"without {x}" for x in gone if x not in new]
    found += [f"another {x}" for x in new if x in gone]
    if before.initial != after.initial:
        found.append("other moisture at the start")
    if (before.start, before.end) != (after.start, after.end):
        found.append("another period")
    if len(found) > MOST:
        found = [*found[: MOST - 1], f"{len(found) - MOST + 1} more things"]
    return f"{'; '.join(found)}." if found else ""


def _called(part: Any) -> str:
    if isinstance(part, Layer):
        return f"{plain(1e3 * part.thickness)} mm of {without_size(part.name)}"
    return str(part.name)


def _parts(before: Case, after: Case) -> list[str]:
    old, new = ([_called(p) for p in case.assembly.parts] for case in (before, after))
    out = []
    for kind, a, b, c, d in SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
        if kind == "replace":
            out.append(f"{listed(new[c:d])} instead of {listed(old[a:b])}")
        elif kind == "delete":
            out.append(f"without {listed(old[a:b])}")
        elif kind == "insert":
            out.append(f"with {listed(new[c:d])}")
    return out


def _water(before: Case, after: Case) -> list[str]:
    def of(case: Case) -> list[Wetting]:
        return list(case.wettings)

    if of(before) == of(after):
        return []
    return [listed([event(w) for w in after.wettings])] if after.wettings else ["no water gets in"]
