"""The case that lies on the desk: its sections, where it comes from, what is wrong with it and where."""

from __future__ import annotations

import datetime
import math
import re
from copy import deepcopy
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..casefile import CaseFile, case_of, limits_of
from ..casefile.heading import heading_of
from ..casefile.layers import own_entries, read_layers
from ..casefile.schema import CATALOGUE, FILES, LISTS, ONCE
from ..casefile.values import explain_toml
from ..errors import InputError
from ..study.toml_text import toml_text
from ..toml import TEXTS, parse_toml

Document = dict[str, Any]

_NUMBERED = re.compile(r"([a-z_]+) (\d+)")
_NAMED = re.compile(r"([a-z_]+) '(.*)'")


@dataclass(frozen=True)
class Trouble:
    """Something that keeps the case from being run.

    Parameters
    ----------
    at : str
        Its place, as a path; empty: the whole.
    text : str
        One line: what is wrong, what would be right.
    """

    at: str
    text: str

    @property
    def part(self) -> str:
        """The layer or film it is about, as a path; empty where it is about none."""
        match = re.match(r"layer\.\d+", self.at)
        return match[0] if match else ""


def plain(document: Any) -> Any:
    """Return sections with dates as text, as JSON takes them; a case file takes them so too."""
    if isinstance(document, dict):
        return {str(k): plain(v) for k, v in document.items()}
    if isinstance(document, list):
        return [plain(v) for v in document]
    if isinstance(document, float) and not math.isfinite(document):
        return str(document)  # refused where it is read, as a number would be
    if isinstance(document, datetime.datetime):
        return document.isoformat(sep=" ")
    if isinstance(document, datetime.date | datetime.time):
        return document.isoformat()
    return document


def parsed(text: str, name: str) -> Document:
    """Return the sections of the text of a case file.

    Raises
    ------
    InputError
        It is no TOML.
    """

    def explained(error: Exception) -> InputError:
        return explain_toml(Path(name), error, text)

    found: Document = plain(parse_toml(text, name, explained))
    return shaped(found, name)


def shaped(document: Document, name: str) -> Document:
    """Return sections that are what they can be: lists of tables, tables, names of files.

    Raises
    ------
    InputError
        A section is something else; a case file with it cannot be read either.
    """
    for section in (*LISTS, "variant"):
        found = document.get(section, [])
        if not isinstance(found, list) or not all(isinstance(t, dict) for t in found):
            raise InputError(f"write [[{section}]], with two brackets, above each one", f"{name}, {section}")
    for section in (*ONCE, *CATALOGUE, "limits"):
        if not isinstance(document.get(section, {}), dict):
            raise InputError(f"write [{section}] above its keys", f"{name}, {section}")
    listed = document.get("catalogues", [])
    if not isinstance(listed, list) or not all(isinstance(n, str) for n in listed):
        raise InputError('write it as a list, such as catalogues = ["mine.toml"]', f"{name}, catalogues")
    return document


def written(document: Document) -> str:
    """Return sections as the text of a case file."""
    return toml_text(document)


def read(document: Document, path: Path, kept: dict[Any, Any] | None = None) -> CaseFile:
    """Return the case of a document, as the commands read it from a file of that name.

    Raises
    ------
    InputError
        As `drydown.casefile.read_case`; also a heading that cannot be read.
    """
    case = case_of(document, path, kept)
    heading_of(document, path)
    return CaseFile(path, document, case, limits_of(document, path))


def looked_at(document: Document, path: Path, kept: dict[Any, Any] | None = None) -> CaseFile | list[Trouble]:
    """Return the case of a document, or what keeps it from being run: of every layer its own, else the first."""
    tables = document.get("layer", [])
    if not tables:
        return [Trouble("layer", "There is no layer yet. Put in the first one.")]
    found: list[Trouble] = []
    try:
        return read(document, path, kept)
    except InputError as error:
        first = Trouble(place(error, path), error.message)
    if not first.part:
        return [first]
    own = own_entries(document, tuple(document.get("catalogues", ())), path)
    for i, table in enumerate(tables, 1):
        try:
            # a layer beside it, so that a film alone is not refused for want of one
            read_layers([table, _BESIDE] if "film" in table else [table], own, str(path))
        except InputError as error:
            at = re.sub(r"^layer\.\d+", f"layer.{i}", place(error, path)) or f"layer.{i}"
            found.append(Trouble(at, error.message))
    return found or [first]


_BESIDE = {"material": "gypsum board", "thickness": "12.5 mm", "name": "beside"}


def place(error: InputError, path: Path) -> str:
    """Return the place in the document that an error names, as a path; empty where it names none."""
    where = error.where.removeprefix(str(path)).removeprefix(f": {path}").strip(" ,:")
    parts = []
    for piece in re.split(r"[,:] ", where):
        if (match := _NUMBERED.fullmatch(piece)) or (match := _NAMED.fullmatch(piece)):
            parts += [match[1], match[2]]
        elif re.fullmatch(r"[a-z_0-9]+", piece):
            parts.append(piece)
        else:
            break
    if parts[:1] == ["wetting"] and len(parts) > 1 and not parts[1].isdigit():
        parts = ["wetting"]
    return ".".join(parts)


def name_of(table: Document) -> str:
    """Return the name of a layer as it stands in the document: its own, else what it is made of."""
    return str(table.get("name", table.get("material", table.get("film", ""))))


def rename(document: Document, old: str, new: str) -> None:
    """Let what names a layer follow its new name."""
    for section in LISTS:
        for table in document.get(section, []) if section != "layer" else ():
            if isinstance(table, dict) and str(table.get("layer", "")).casefold() == old.casefold():
                table["layer"] = new


def named_files(document: Document) -> list[tuple[Document, str]]:
    """Return where a document names a file: the table and the key."""
    found = [(document[s], k) for s in ONCE if isinstance(document.get(s), dict) for k in FILES if k in document[s]]
    return found + ([(document, "catalogues")] if "catalogues" in document else [])


def located(document: Document, path: Path, handed_in: Path) -> Document:
    """Return a document whose files that are not beside the case are those that were handed in."""
    out = deepcopy(document)

    def where(name: Any) -> Any:
        if not isinstance(name, str) or (path.parent / name).exists() or not (handed_in / Path(name).name).exists():
            return name
        return str(handed_in / Path(name).name)

    for table, key in named_files(out):
        value = table[key]
        table[key] = [where(v) for v in value] if isinstance(value, list) else where(value)
    return out


def files_in(document: Document) -> list[str]:
    """Return the names of the files that a document names."""
    values = [table[key] for table, key in named_files(document)]
    return [n for v in values for n in (v if isinstance(v, list) else [v]) if isinstance(n, str)]


def has_notes(text: str) -> bool:
    """Return whether the text of a case file holds notes behind #, which a document does not."""
    return any(m[0].startswith("#") for m in TEXTS.finditer(text))
