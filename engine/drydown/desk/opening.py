"""What lies on the desk when it is opened."""

from __future__ import annotations

from pathlib import Path

from ..casefile import load
from .app import Served
from .desk import Desk, started
from .document import plain
from .events import Events


def opened(case_file: Path | None) -> Served:
    """Return a desk with a case file on it, or with an example that can be played with.

    Raises
    ------
    InputError
        The file cannot be read.
    """
    events = Events()
    if case_file is None:
        document, path = started("wall"), Path("wall.toml")
    else:
        document, path = plain(load(case_file)), case_file
    return Served(Desk(document, path, events.say), events)
