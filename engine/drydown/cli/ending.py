"""Ending when told to, whatever a library is doing: first in order, then at once.

SIGTERM and SIGINT raise an error where the command is. It may be raised amid the taking of a lock, which then stays
taken: closing a file waits for ever. Or it is raised where Python passes over errors, as in the clean-up of an object.
So another thread sends the signal once more where it was lost, and ends what has not ended some seconds later.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
import time
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
def ending_when_told() -> Iterator[Callable[[], int]]:
    """Raise `Ended` on SIGTERM and KeyboardInterrupt on SIGINT, and see to it that the process then ends.

    Yields a function that returns the exit code once the process was told to end, before that 0: a library may make
    an error of its own of the one that was raised in it.
    """
    told = threading.Event()
    over = threading.Event()
    lost = threading.Event()
    code = [143]
    number_of = {143: signal.SIGTERM, 130: signal.SIGINT}
    passed_over = sys.unraisablehook

    def on_unraisable(about: Any) -> None:
        if about.exc_type is not None and issubclass(about.exc_type, Ended | KeyboardInterrupt):
            lost.set()
        else:
            passed_over(about)

    def watch() -> None:
        told.wait()
        end = time.monotonic() + GRACE
        while time.monotonic() < end:
            if over.wait(0.05):
                return
            if lost.is_set():
                lost.clear()
                signal.raise_signal(number_of[code[0]])
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
    sys.unraisablehook = on_unraisable
    try:
        with on_signals(acts):
            yield lambda: code[0] if told.is_set() else 0
    finally:
        sys.unraisablehook = passed_over
        over.set()
        told.set()
