"""What lies on the desk when it is opened: what was left there, a case file, or an example that can be played with."""

from __future__ import annotations

import json
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path

from ..casefile import load
from ..study.locks import Heartbeat
from ..toml import read_text
from .app import Served
from .desk import Desk, started
from .document import Document, has_notes, plain, shaped
from .events import Events
from .filing import Filing
from .history import History, Step
from .keeping import Kept, held, place_of
from .pins import Pin

#: What a case is called that is no file yet.
UNNAMED = "a wall of yours"


def opened(case_file: Path | None) -> Served:
    """Return a desk.

    Parameters
    ----------
    case_file : Path, optional
        By default what was left without a file, at the first start the example.

    Raises
    ------
    InputError
        The file cannot be read, or another desk is open on it.
    """
    last = ExitStack()
    try:
        return _opened(case_file, last)
    except BaseException:
        last.close()
        raise


def _opened(case_file: Path | None, last: ExitStack) -> Served:
    document = shaped(plain(load(case_file)), str(case_file)) if case_file is not None else None
    kept = place_of(case_file)
    held(kept, last.enter_context(Heartbeat()), last)
    events = Events()
    folder = Path.cwd() if case_file is None else case_file.parent
    desk = on_it(document, case_file, kept, folder, events.say)
    last.callback(desk.close)
    desk.begin()
    return Served(desk, events, Filing(desk), last.close)


def on_it(
    document: Document | None, case_file: Path | None, kept: Kept, folder: Path, notify: Callable[[str, Document], None]
) -> Desk:
    """Return a desk with what was kept of it, else with what is given, else with the example."""
    found = kept.read()
    if found is None:
        path = folder / UNNAMED if case_file is None else case_file
        desk = Desk(History(Step(started("wall") if document is None else document, path)), kept, folder, notify)
    else:
        history, pins, saved = found
        desk = Desk(history, kept, folder, notify)
        desk.saved = saved
        desk.pins = [Pin(i, name, step, None) for i, (name, step) in enumerate(pins, 1)]
        if document is not None and case_file is not None:
            text = json.dumps(document, sort_keys=True)
            if text not in (saved, json.dumps(history.now.document, sort_keys=True)):
                history.go(document, "the file as it is now", case_file)
                desk.notice = "The file has been changed meanwhile. Undo leads to what lay on the desk."
            elif not desk.is_saved() and text == saved:
                desk.notice = "Opened as you left it. The file itself has not been changed."
        elif history.before:
            desk.notice = "Opened as you left it."
    if document is not None and case_file is not None:
        desk.saved = json.dumps(document, sort_keys=True)
        desk.notes = has_notes(read_text(case_file))
    return desk
