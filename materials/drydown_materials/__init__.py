"""The library of materials and films that comes with drydown, a plugin like any other."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from drydown.catalogue.file import Entry, read_catalogue

#: The folder of the catalogue files.
FOLDER = Path(__file__).parent / "catalogue"


def catalogue() -> Mapping[str, Entry]:
    """Return the entries by name; each is built when it is called."""
    return read_catalogue(FOLDER)
