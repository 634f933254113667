"""The page of references names every source that the code, the library and the pages name."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs/references.md").read_text(encoding="utf-8")
STANDARD = re.compile(
    r"\b(ANSI/ASHRAE \d+|EN ISO \d+|ISO \d{4,}(?:-\d)?|EN \d{5}|DIN \d{4,}(?:-\d)?|ASTM (?:E|STP)\d+|NBI \d+\.\d+"
    r"|IEA Annex \d+|TSG-\d-\d+|FPL-GTR-\d+|CF-1\.\d+|DTU BYG R-\d+)"
)
#: "Hukka and Viitanen (1999)", "Ojanen et al. 2010", "R. Hock 2003", "Crank, The Mathematics of ..., 1975": name, year.
AUTHORS = re.compile(
    r"\b((?:[A-Z]\. )*[A-ZÅÄÖÜ][a-zäöüåøé]{3,})(?:(?:,| and| &) (?:[A-Z]\. ?)*[A-ZÅÄÖÜ][a-zäöüåøé]+)*"
    r"(?: et al\.)?,? \(?((?:18|19|20)\d\d)\b"
)
#: Words before a year that name no author.
NOT_AUTHORS = (
    "January February March April May June July August September October November December CODATA Solids Handbook "
    "Fundamentals Buildings Chalmers Practice Stuttgart Denmark Elmarsson Stamps Index Diffusion"
).split()
FILES = [
    p
    for folder in ("engine", "climates", "materials", "benchmarks/validation", "docs")
    for p in sorted((ROOT / folder).rglob("*"))
    if p.suffix in (".py", ".toml", ".md") and p.name != "references.md" and "_build" not in p.parts
]


def flat(path):
    return " ".join(path.read_text(encoding="utf-8").replace("*", " ").split())


def test_the_pattern_sees_authors():
    found = AUTHORS.findall("By Hukka and Viitanen (1999), Ojanen et al. (2010); R. Hock 2003; Nunez, Anderton 2018")
    assert [(n.split()[-1], y) for n, y in found] == [
        ("Hukka", "1999"),
        ("Ojanen", "2010"),
        ("Hock", "2003"),
        ("Nunez", "2018"),
    ]


def test_every_standard_is_there():
    missing = {}
    for path in FILES:
        for name in STANDARD.findall(flat(path)):
            if not re.search(rf"{re.escape(name)}\b", PAGE):
                missing.setdefault(name, path.name)
    assert not missing


def test_every_author_with_a_year_is_there():
    lines = PAGE.splitlines()
    missing = {}
    for path in FILES:
        for name, year in AUTHORS.findall(flat(path)):
            name = name.split()[-1].replace("Kuenzel", "Künzel")
            if name not in NOT_AUTHORS and not any(name in line and year in line for line in lines):
                missing.setdefault((name, year), path.name)
    assert not missing


@pytest.mark.parametrize("what", ["materials", "criteria"])
def test_every_source_of_an_entry_is_there(what):
    """Words of three letters and more of the authors, and the year, stand on one line or in the last section."""
    from drydown import plugins

    if what == "materials":
        sources = {s for e in plugins.materials().entries().values() for s in e.sources}
    else:
        criteria = plugins.criteria().entries().values()
        sources = {c.source for c in criteria} | {x.source for c in criteria for x in c.limits}
    missing = set()
    for source in sources:
        for part in source.authors.split("; "):
            name = re.split(r",| \(|, as ", part)[0].replace("C.-E. ", "").strip()
            if name.startswith(("drydown", "building practice", "wood science", "trade knowledge")):
                assert f'"{name.split(",")[0]}"' in PAGE
                continue
            words = [w for w in re.findall(r"[\w.-]{3,}", name) if w not in ("and", "others")]
            rows = [line for line in PAGE.splitlines() if all(w in line for w in words)]
            if not rows:
                missing.add((part, source.year))
    assert not missing
