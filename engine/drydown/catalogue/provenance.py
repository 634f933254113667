"""How each property of a catalogue is known: measured, from a table, fitted, assumed, recalled; as a page."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import get_args

from ..materials.model import Film, Kind, Material, Source

#: Columns of the page, in the order of trust.
KINDS: tuple[str, ...] = get_args(Kind)
#: Properties of an entry whose sources stand for all of it, where they name none.
_OF_FILM = ("permeance",)
_OF_MATERIAL = ("density", "heat capacity", "conductivity", "storage", "permeability")


@dataclass(frozen=True)
class Record:
    """One source of one property of one entry.

    Parameters
    ----------
    entry, property : str
    source : Source
    """

    entry: str
    property: str
    source: Source


def records(entries: Iterable[Material | Film]) -> list[Record]:
    """Return a record for every source of every property.

    A source that names no property stands for all that the entry must have.

    Parameters
    ----------
    entries : iterable of Material or Film
    """
    found = []
    for entry in entries:
        for source in entry.sources:
            whole = list(_OF_FILM if isinstance(entry, Film) else _OF_MATERIAL)
            if isinstance(entry, Material) and (entry.liquid is not None or entry.diffusivity is not None):
                whole.append("liquid")
            found += [Record(entry.name, about, source) for about in ([source.about] if source.about else whole)]
    return found


def share(found: Iterable[Record], kind: str = "from memory") -> float:
    """Return the share [-] of records of a kind."""
    kinds = Counter(str(r.source.kind) for r in found)
    return kinds[kind] / max(sum(kinds.values()), 1)


def _per_property(found: list[Record]) -> Iterator[str]:
    yield "| property | records | " + " | ".join(KINDS) + " |"
    yield "|---" * (len(KINDS) + 2) + "|"
    names = sorted({r.property for r in found}, key=lambda p: (p == "spread", p))
    for name in [*names, ""]:
        here = [r for r in found if not name or r.property == name]
        counts = Counter(str(r.source.kind) for r in here)
        cells = (f"{counts[k]} ({100.0 * counts[k] / len(here):.0f} %)" if counts[k] else "" for k in KINDS)
        yield f"| {name or '**all**'} | {len(here)} | " + " | ".join(cells) + " |"


def _per_source(found: list[Record], kind: str) -> Iterator[str]:
    rows: dict[tuple[str, str, str], list[str]] = {}
    for r in found:
        if r.source.kind == kind:
            rows.setdefault((r.source.authors, r.source.where, r.source.note), []).append(f"{r.entry}: {r.property}")
    yield "| source | reason | records |"
    yield "|---|---|---|"
    for (authors, where, note), used in sorted(rows.items(), key=lambda item: -len(item[1])):
        yield f"| {authors}, {where} | {note} | {len(used)}: {'; '.join(sorted(used))} |"


def page(entries: Iterable[Material | Film]) -> list[str]:
    """Return the page in lines of Markdown.

    Parameters
    ----------
    entries : iterable of Material or Film
    """
    given = list(entries)
    found = records(given)
    values = [r for r in found if r.property != "spread"]
    films = sum(isinstance(e, Film) for e in given)
    return [
        "# Where the values come from",
        "",
        f"{len(given) - films} materials and {films} films, {len(found)} records: a record is one source of one "
        "property of one entry. Written by `drydown materials --provenance`.",
        "",
        f"From memory: {100.0 * share(found):.1f} % of all records, {100.0 * share(values):.1f} % of those of values "
        "(spreads left out).",
        "",
        "*Measured*: a paper, a report, or a handbook that names the specimen. *Table*: a standard, a handbook, an "
        "institute, a declaration. *Fitted*: computed from one of the two. *Assumed*: our judgement, with what it "
        "leans on.",
        "",
        *_per_property(found),
        "",
        "## What is from memory, and why",
        "",
        *_per_source(found, "from memory"),
    ]
