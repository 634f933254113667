"""Who works on which block: lock files that other machines see, and that outlive nobody.

A lock is a file that is linked into its place, or made with O_EXCL where there are no links; it holds host, process and
a token, and a heartbeat renews its time. It is stale when its process on this host is gone, or when it was not renewed
for `STALE` seconds by the clock of the file system, forwards or backwards: where the clock was set back, the time of a
lock lies ahead until it is renewed. A stale lock is taken by renaming it: only one of several can.
"""

from __future__ import annotations

import contextlib
import json
import os
import threading
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from ..files import not_written
from ..systems import alive, born, host, link

#: Seconds between two renewals, and after how many without one a lock is stale.
BEAT, STALE = 10.0, 120.0


class Holder(NamedTuple):
    """Who holds a lock."""

    host: str
    pid: int
    born: str
    token: str

    def __str__(self) -> str:
        return f"process {self.pid} on {self.host}"


def read_holder(path: Path) -> Holder | None:
    """Return who holds a lock; None where there is none, or it is just being written."""
    try:
        given: Any = json.loads(path.read_text(encoding="utf-8"))
        return Holder(str(given["host"]), int(given["pid"]), str(given["born"]), str(given["token"]))
    except (OSError, ValueError, KeyError, TypeError, OverflowError, RecursionError):
        return None


def _age(path: Path) -> float:
    """Return the seconds between now and the renewal of a lock, by the clock of the file system; 0 where it is gone."""
    probe = path.with_name(f".clock.{uuid.uuid4().hex[:8]}")
    try:
        probe.touch()
        return abs(probe.stat().st_mtime - path.stat().st_mtime)
    except OSError:
        return 0.0
    finally:
        probe.unlink(missing_ok=True)


def stale(path: Path, after: float = STALE) -> bool:
    """Return whether a lock outlived its holder."""
    holder = read_holder(path)
    if holder is not None and holder.host == host():
        return not alive(holder.pid) or born(holder.pid) != holder.born
    return path.exists() and _age(path) > (after if holder is not None else min(after, BEAT))


class Lock:
    """One lock.

    Parameters
    ----------
    path : Path
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.token = uuid.uuid4().hex

    def take(self) -> bool:
        """Take the lock; False where another holds it."""
        if self._make():
            return True
        old = read_holder(self.path)
        if not stale(self.path):
            return False
        aside = self.path.with_name(f"{self.path.name}.{self.token[:8]}")
        try:
            os.rename(self.path, aside)
        except FileNotFoundError:
            return self._make()
        seen = read_holder(aside)
        if seen != old:  # another was faster, and this is its new lock: give it back
            with contextlib.suppress(OSError, NotImplementedError):
                link(aside, self.path)
            aside.unlink(missing_ok=True)
            return False
        aside.unlink(missing_ok=True)
        return self._make()

    def _make(self) -> bool:
        """Make the lock with its holder in it, both at once, so that no lock is ever without a holder."""
        pid = os.getpid()
        text = json.dumps({"host": host(), "pid": pid, "born": born(pid), "token": self.token})
        part = self.path.with_name(f".{self.path.name}.{self.token[:8]}")
        try:
            part.write_text(text, encoding="utf-8")
        except OSError as error:
            part.unlink(missing_ok=True)
            raise not_written(error, self.path) from error
        try:
            link(part, self.path)
            return True
        except FileExistsError:
            return False
        except NotImplementedError:  # a file system without links
            return self._make_in_place(text)
        finally:
            part.unlink(missing_ok=True)

    def _make_in_place(self, text: str) -> bool:
        try:
            handle = os.open(self.path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o644)
        except FileExistsError:
            return False
        try:
            os.write(handle, text.encode())
        finally:
            os.close(handle)
        return True

    def mine(self) -> bool:
        """Return whether the lock is still held by this object."""
        holder = read_holder(self.path)
        return holder is not None and holder.token == self.token

    def renew(self) -> None:
        """Renew the time of the lock."""
        with contextlib.suppress(OSError):
            os.utime(self.path)

    def release(self) -> None:
        """Give the lock back."""
        if self.mine():
            self.path.unlink(missing_ok=True)


def let_go(path: Path) -> None:
    """Remove a lock whose holder died when all was done but that."""
    if path.exists():
        lock = Lock(path)
        if lock.take():
            lock.release()


class Heartbeat:
    """Renews the locks that are held, from a thread of its own."""

    def __init__(self, every: float = BEAT) -> None:
        self._locks: set[Lock] = set()
        self._every = every
        self._end = threading.Event()
        self._guard = threading.Lock()
        self._thread = threading.Thread(target=self._run, name="drydown heartbeat", daemon=True)

    def __enter__(self) -> Heartbeat:
        self._thread.start()
        return self

    def __exit__(self, *error: object) -> None:
        self._end.set()
        self._thread.join()

    def _run(self) -> None:
        while not self._end.wait(self._every):
            with self._guard:
                held = list(self._locks)
            for lock in held:
                lock.renew()

    @contextlib.contextmanager
    def holding(self, lock: Lock) -> Iterator[bool]:
        """Hold a lock for a while; gives False where another has it."""
        if not lock.take():
            yield False
            return
        with self._guard:
            self._locks.add(lock)
        try:
            yield True
        finally:
            with self._guard:
                self._locks.discard(lock)
            lock.release()
