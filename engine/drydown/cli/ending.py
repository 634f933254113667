"""Ending when told to, whatever a library is doing: first in order, then at once.

SIGTERM and SIGINT raise an error where the command is. It may be raised amid the taking of a lock, which then stays
taken: closing a file waits for ever. So a process that has not ended some seconds later is ended from another thread.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from ..files import drop_parts
from ..systems import on_signals

#: Seconds in which a command that is told to end does so in order.
GRACE = 20.0


class Ended(BaseException):
    """The system asked this process to end; what is half written is removed on the way out."""


@contextmanager
def ending_when_told() -> Iterator[None]:
    """Raise `Ended` on SIGTERM and KeyboardInterrupt on SIGINT, and see to it that the process then ends."""
    told = threading.Event()
    over = threading.Event()
    code = [143]

    def watch() -> None:
        told.wait()
        if over.wait(GRACE):
            return
        drop_parts()
        print(  # click may be what is stuck
            "drydown: ended at once, for it did not come to rest; nothing was left half written",
            file=sys.stderr,
            flush=True,
        )
        os._exit(code[0])

    def on_terminate(number: int, frame: Any) -> None:
        told.set()
        raise Ended

    def on_interrupt(number: int, frame: Any) -> None:
        code[0] = 130
        told.set()
        raise KeyboardInterrupt

    threading.Thread(target=watch, name="drydown ending", daemon=True).start()
    acts: dict[int, Callable[[int, Any], Any]] = {signal.SIGTERM: on_terminate}
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        acts[signal.SIGINT] = on_interrupt
    try:
        with on_signals(acts):
            yield
    finally:
        over.set()
        told.set()
