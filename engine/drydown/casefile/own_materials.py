"""Entries of a file of one's own: a catalogue, a folder of catalogues, or what a case file defines."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from ..errors import InputError, nearest
from ..materials.model import Film, Material
from ..toml import read_toml


def catalogue_of(file: Path) -> dict[str, Any]:
    """Return the entries of a catalogue file, of a folder of them or of a case file, not yet built."""
    from ..catalogue.file import read_catalogue
    from .layers import own_entries

    data = {} if file.is_dir() else read_toml(file)
    if "layer" not in data:
        return read_catalogue(file)
    listed = data.get("catalogues", [])
    names = (listed,) if isinstance(listed, str) else tuple(str(x) for x in listed)
    return own_entries(data, names, file)


def own_entry(file: Path, name: str) -> Material | Film:
    """Return one entry of a file of one's own.

    Raises
    ------
    InputError
        If it is not there, cannot be built or breaks the contract.
    """
    from ..materials.contract import problems

    found = catalogue_of(file)
    if name not in found:
        raise InputError(f"nothing in it is called '{name}'; {nearest(name, found)}", str(file))
    entry: Material | Film = found[name]()
    for line in problems(entry):
        raise InputError(line, found[name].where)
    return entry


def named(name: str, file: Path | None = None) -> Material | Film:
    """Return an entry by name: of a file of one's own where one is given, else an installed one."""
    from ..plugins import materials

    return materials().get_entry(name) if file is None else own_entry(file, name)
