"""How far a study is: rate and remaining time, on a terminal and as plain lines in a log."""

from __future__ import annotations

import math
import threading
import time
from collections import deque
from collections.abc import Callable

from ..text import plain

Say = Callable[[str], None]


def remaining(cases: int, rate: float) -> str:
    """Return in words how long so many cases take at a rate [1/s]: 40 s, 12 min, 3.5 hours, 2.1 days."""
    seconds = cases / rate
    if seconds < 100.0:
        return f"{math.ceil(seconds)} s"
    if seconds < 6000.0:
        return f"{math.ceil(seconds / 60.0)} min"
    hours = seconds / 3600.0
    return f"{plain(hours, 2)} hours" if hours < 48.0 else f"{plain(hours / 24.0, 2)} days"


class Meter:
    """Counts cases and says a line now and then.

    Parameters
    ----------
    total, present : int
        Cases of the study or the part of it, and those of them that are there already.
    line : callable
        Takes one plain line, at most every `every` seconds and at the end.
    tick : callable, optional
        Takes the fraction done and a short text, after every case (a bar on a terminal).
    every : float
        [s]
    """

    #: The rate is that of so many seconds.
    WINDOW = 120.0

    def __init__(
        self,
        total: int,
        present: int,
        line: Say,
        tick: Callable[[float, str], None] | None = None,
        every: float = 30.0,
    ) -> None:
        self.total, self.done, self.failed = total, present, 0
        self.line, self._tick, self._every = line, tick, every
        self._guard = threading.Lock()
        self._spoken = time.monotonic()
        self._recent: deque[tuple[float, int]] = deque([(self._spoken, present)])

    def count(self, cases: int = 1, failed: int = 0) -> None:
        """Count cases that were run."""
        with self._guard:
            now = time.monotonic()
            self.done += cases
            self.failed += failed
            self._recent.append((now, self.done))
            while now - self._recent[0][0] > self.WINDOW and len(self._recent) > 2:
                self._recent.popleft()
            if self._tick is not None:
                self._tick(self.done / max(self.total, 1), self.text())
            if now - self._spoken >= self._every:
                self._spoken = now
                self.line(self.text())

    @property
    def rate(self) -> float:
        """Cases per second of late [1/s]."""
        (t0, n0), (t1, n1) = self._recent[0], self._recent[-1]
        return (n1 - n0) / (t1 - t0) if t1 > t0 else 0.0

    def text(self) -> str:
        """Return the state in one line."""
        said = f"{self.done} of {self.total} cases"
        if self.failed:
            said += f", {self.failed} failed"
        if self.done < self.total and self.rate > 0.0:
            said += f", {plain(self.rate)} per second, {remaining(self.total - self.done, self.rate)} left"
        return said
