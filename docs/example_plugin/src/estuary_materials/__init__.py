"""An example of a drydown plugin: a laminate that lets vapour out more easily than in, a reed board, a criterion."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib.resources import as_file, files

from drydown.catalogue.file import read_catalogue
from drydown.materials.model import Film, Material

from .laminate import laminate


def catalogue() -> Mapping[str, Callable[[], Material | Film]]:
    """Return the entries by name; each is built when it is called."""
    with as_file(files(__package__) / "boards.toml") as path:
        boards = read_catalogue(path)
    return {**boards, "estuary laminate": laminate}
