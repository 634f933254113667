"""The library of materials and films that comes with drydown, a plugin like any other."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import Path

from drydown.catalogue.file import Entry, read_catalogue
from drydown.plugins import Named

#: The folder of the catalogue files.
FOLDER = Path(__file__).parent / "catalogue"


def catalogue() -> Mapping[str, Entry]:
    """Return the entries by name, each built when it is called, and the words of the trade that mean them."""
    words = tomllib.loads((Path(__file__).parent / "trade_names.toml").read_text(encoding="utf-8"))
    return Named(read_catalogue(FOLDER), {**words["film"], **words["material"]}, words["none"])
