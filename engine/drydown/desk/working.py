"""One thread that works out what was asked last: a new wish ends the work on the one before."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from ..lowering.marcher import HALT


class Dropped(Exception):
    """Nobody wants this any more."""


class Wish:
    """Something to be worked out.

    Parameters
    ----------
    what : object
    """

    def __init__(self, what: Any) -> None:
        self.what = what
        self._over = threading.Event()

    def drop(self) -> None:
        """Want it no more."""
        self._over.set()

    def halt(self) -> None:
        """Raise `Dropped` where it is wanted no more."""
        if self._over.is_set():
            raise Dropped

    def rest(self, seconds: float) -> None:
        """Wait a while, unless it is wanted no more; then raise `Dropped`."""
        self._over.wait(seconds)
        self.halt()


class Work:
    """Works out one wish at a time, the last one made.

    Parameters
    ----------
    act : callable
        Takes a wish; ends soon with `Dropped` when that is wanted no more.
    """

    def __init__(self, act: Callable[[Wish], None]) -> None:
        self._act = act
        self._news = threading.Condition()
        self._next: Wish | None = None
        self._now: Wish | None = None
        self._closed = False
        #: Held by who is at work; and by who wants to be alone.
        self._busy, self._apart = threading.Lock(), threading.Lock()
        self._thread: threading.Thread | None = None
        #: How often a wish was begun, and how many are at work.
        self.begun = self.at_work = 0

    def want(self, what: Any) -> None:
        """Want something, and nothing of before."""
        with self._news:
            if self._closed:
                return
            self._let_go()
            self._next = Wish(what)
            if self._thread is None:
                self._thread = threading.Thread(target=self._run, name="drydown desk", daemon=True)
                self._thread.start()
            self._news.notify_all()

    def drop(self) -> None:
        """Want nothing."""
        with self._news:
            self._let_go()
            self._next = None

    @contextmanager
    def alone(self) -> Iterator[None]:
        """Let nothing be at work meanwhile: what is under way is begun again afterwards."""
        with self._apart:
            with self._news:
                again = self._now.what if self._now is not None else None
                self._let_go()
            with self._busy:
                yield
            with self._news:
                if again is not None and self._next is None and self._now is None and not self._closed:
                    self._next = Wish(again)
                    self._news.notify_all()

    def close(self, seconds: float = 5.0) -> None:
        """Want nothing any more, and wait for what is at work to end."""
        with self._news:
            self._closed = True
            self._let_go()
            self._news.notify_all()
        if self._thread is not None:
            self._thread.join(seconds)

    def _let_go(self) -> None:
        if self._now is not None:
            self._now.drop()

    def _run(self) -> None:
        while True:
            with self._news:
                while self._next is None and not self._closed:
                    self._news.wait()
                if self._closed or self._next is None:
                    return
                wish = self._now = self._next
                self._next = None
                self.begun += 1
                self.at_work += 1
            token = HALT.set(wish.halt)
            try:
                with self._busy:
                    wish.halt()
                    self._act(wish)
            except Dropped:
                pass
            finally:
                HALT.reset(token)
                with self._news:
                    self._now = None
                    self.at_work -= 1
