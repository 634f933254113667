"""The catalogue by the words of the trade."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from typing import Any

from ..catalogue.page import describe
from ..errors import InputError
from ..materials.kinds import kind_of
from ..materials.model import Film, Material
from ..plugins import materials, spelled
from .edits import usual_thickness
from .parts import about, class_of, curve_of

#: What is shown before anything is asked, by use. Source: common practice.
FIRST = (
    "OSB", "plywood", "gypsum board", "mineral wool", "dense cellulose", "wood fibre insulation", "spruce",
    "spruce cladding", "air gap 25 mm", "clay brick", "concrete", "lime plaster", "cement plaster",
    "expanded polystyrene", "fibre cement board", "wood fibreboard", "steel sheet",
    "polyamide film 0.05 mm", "humidity-dependent vapour retarder", "polyethylene 0.15 mm", "kraft paper facing",
    "weather-resistive membrane", "breather membrane", "felt #15", "latex paint", "aluminium foil", "bitumen roofing",
)  # fmt: skip
#: Most that is found at a time, and letters of a question.
MOST, LONGEST = 60, 100


def search(words: str, kind: str, system: Any, limit: int = 30) -> dict[str, Any]:
    """Return what a word of the trade finds, the best first.

    Parameters
    ----------
    words : str
        Empty: the usual ones.
    kind : {'', 'material', 'film'}
    system : {'SI', 'US'}
    limit : int
    """
    registry, asked = materials(), spelled(words[:LONGEST])
    entries = registry.entries()
    limit = min(max(limit, 1), MOST)
    found = _first(entries) if not asked else _ranked(asked, entries, _words())
    out = []
    for name, said in found:
        entry = entries[name]
        what = "film" if isinstance(entry, Film) else "material"
        if kind and kind != what:
            continue
        out.append(told(entry, said, system))
        if len(out) == limit:
            break
    return {"found": out}


def told(entry: Material | Film, said: str, system: Any) -> dict[str, Any]:
    """Return an entry as it stands in a list."""
    film = isinstance(entry, Film)
    return {
        "name": entry.name,
        "kind": "film" if film else "material",
        "hatch": "film" if film else kind_of(entry.tags, entry.name),
        "class": class_of(entry) if isinstance(entry, Film) else "",
        "said": said,
        "about": about(entry, system),
        "thickness": None if film else usual_thickness(entry.name),
    }


def _first(entries: Mapping[str, Any]) -> list[tuple[str, str]]:
    usual = [n for n in FIRST if n in entries]
    return [(n, "") for n in usual] + [(n, "") for n in entries if n not in usual]


def _words() -> list[tuple[str, str]]:
    """Return every word by which an entry is found, and the entry: names, aliases, words of the trade, tags."""
    registry = materials()
    out = [(spelled(word), name) for word, (_, name) in registry.spoken().items()]
    out += [(spelled(tag), name) for name, entry in registry.entries().items() for tag in entry.tags]
    return out


def _ranked(asked: str, entries: Mapping[str, Any], words: list[tuple[str, str]]) -> list[tuple[str, str]]:
    """Return names by how well a word of theirs fits: the same, begun so, each part begun so, in it, alike."""
    parts = asked.split()
    best: dict[str, tuple[float, str]] = {}
    usual = {n: i for i, n in enumerate(FIRST)}
    for word, name in words:
        if name not in entries:
            continue
        score = _score(asked, parts, word)
        if score is None:
            continue
        rank = score + 0.01 * (len(word) - len(asked)) / max(len(word), 1) - (0.3 if name in usual else 0.0)
        said = "" if word == spelled(name) else word
        if name not in best or rank < best[name][0]:
            best[name] = rank, said
    return [(name, said) for name, (_, said) in sorted(best.items(), key=lambda item: (item[1][0], item[0]))]


def _score(asked: str, parts: list[str], word: str) -> float | None:
    if word == asked:
        return 0.0
    if word.startswith(asked):
        return 1.0
    of_word = word.split()
    if all(any(w.startswith(p) for w in of_word) for p in parts):
        return 2.0
    if asked in word:
        return 3.0
    if len(asked) > 3 and any(p in word for p in parts if len(p) > 3):
        return 4.0
    alike = difflib.SequenceMatcher(None, asked, word).quick_ratio() if len(asked) > 3 else 0.0
    if alike > 0.8 and difflib.SequenceMatcher(None, asked, word).ratio() > 0.78:
        return 5.0
    return None


def entry_of(name: str, system: Any) -> dict[str, Any]:
    """Return everything that is known of an entry.

    Raises
    ------
    InputError
        There is none of that name.
    """
    found = materials().get(name)
    if found is None:
        raise InputError(f"nothing in the library is called '{name[:LONGEST]}'", "entry")
    shown = told(found, "", system)
    return shown | {
        "lines": [line for line in describe(found, system) if line.strip()],
        "curve": curve_of(found, system) if isinstance(found, Film) else None,
        "aliases": list(found.aliases),
        "tags": list(found.tags),
    }
