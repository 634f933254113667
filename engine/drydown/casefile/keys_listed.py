"""The keys of a case file as they are listed: section by section, models that share their keys together."""

from __future__ import annotations

from typing import NamedTuple

from ..case.keys import Key
from ..errors import InputError, nearest
from ..quantities import QUANTITIES
from .schema import LISTS, MODELS, SECTIONS

#: Its keys stand before the first section.
AT_TOP = "Before the first section"


class Listed(NamedTuple):
    """A section: its name, as it stands in a file, the key that chooses a model with the words for it, and its keys."""

    name: str
    title: str
    chooser: str
    models: tuple[str, ...]
    keys: tuple[Key, ...]


def sections(only: str = "") -> list[Listed]:
    """Return every section, or the one of a name (`case`: before the first section), or those with a key of that name.

    Raises
    ------
    InputError
        If there is no such section and no such key.
    """
    together: dict[tuple[Key, ...], list[str]] = {}
    for section, keys in SECTIONS.items():
        together.setdefault(tuple(keys.values()), []).append(section)
    names = {section.partition(" ")[0] for section in SECTIONS}
    out = []
    for given, found in together.items():
        name = found[0].partition(" ")[0]
        models = tuple(s.partition(" ")[2] for s in found if " " in s)
        title = AT_TOP if name == "case" else f"[[{name}]]" if name in LISTS else f"[{name}]"
        shown = given if only in ("", name) else tuple(k for k in given if k.name == only and only not in names)
        if shown:
            out.append(Listed(name, title, MODELS[name][0] if models else "", models, shown))
    if not out:
        every = names | {key for keys in SECTIONS.values() for key in keys}
        raise InputError(f"there is no section and no key '{only}'; {nearest(only, sorted(every))}", "--keys")
    return out


def value_of(key: Key) -> tuple[str, ...]:
    """Return what a key takes: the words it knows, examples with their unit, or what kind of value."""
    if key.reads.startswith("one of "):
        return tuple(f'"{word}"' for word in key.reads.removeprefix("one of ").split(", "))
    reads = "fraction" if key.reads == "share" else key.reads
    return tuple(QUANTITIES[reads].example.replace("'", '"').split(" or ")) if reads in QUANTITIES else (reads,)


def text(only: str = "") -> str:
    """Return the keys of all sections, or of one, as lines of text."""
    blocks = []
    for s in sections(only):
        words = " or ".join(f'"{m}"' for m in s.models)
        chosen = f", {s.chooser} = {words}" if s.models else ""
        rows = [(k.name, " or ".join(value_of(k)), k.about + " (needed)" * k.needed) for k in s.keys]
        wide = max(len(name) for name, _, _ in rows)
        lines = [s.title + chosen]
        for name, value, about in rows:
            lines.append(f"  {name:{wide}}  {about}")
            lines.append(f"  {'':{wide}}    {value}")
        blocks.append("\n".join(lines))
    return "\n\n".join(blocks)
