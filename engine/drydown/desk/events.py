"""Events for the page: what has changed, said once to everyone who listens."""

from __future__ import annotations

import asyncio
import contextlib
import json
import threading
from collections.abc import AsyncIterator, Callable
from typing import Any

#: Seconds after which a line without news keeps a connection open; most that wait for one listener.
QUIET, WAITING = 15.0, 200
#: Most listeners at a time.
LISTENERS = 32


class Events:
    """Hands events from any thread to those who listen."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._queues: dict[asyncio.Queue[str], asyncio.AbstractEventLoop] = {}

    def say(self, name: str, data: dict[str, Any]) -> None:
        """Say an event to all."""
        text = f"event: {name}\ndata: {json.dumps(data)}\n\n"
        with self._lock:
            listening = list(self._queues.items())
        for queue, loop in listening:
            with contextlib.suppress(RuntimeError):  # the loop is closed: the server ends
                loop.call_soon_threadsafe(_put, queue, text)

    async def listen(self, ending: Callable[[], bool]) -> AsyncIterator[str]:
        """Yield events as they come, until the server ends."""
        queue: asyncio.Queue[str] = asyncio.Queue(WAITING)
        with self._lock:
            while len(self._queues) >= LISTENERS:  # the oldest makes room: its page asks again if it is still there
                old = next(iter(self._queues))
                del self._queues[old]
                _put(old, "")
            self._queues[queue] = asyncio.get_running_loop()
        try:
            yield ": here\n\n"
            quiet = 0.0
            while not ending():
                try:
                    text = await asyncio.wait_for(queue.get(), 0.5)
                except TimeoutError:
                    quiet += 0.5
                    if quiet >= QUIET:
                        quiet = 0.0
                        yield ": here\n\n"
                    continue
                if not text:
                    return
                quiet = 0.0
                yield text
            yield "event: end\ndata: {}\n\n"
        finally:
            with self._lock:
                self._queues.pop(queue, None)


def _put(queue: asyncio.Queue[str], text: str) -> None:
    if queue.full():  # a page that does not read: what it missed it finds in the state
        queue.get_nowait()
    queue.put_nowait(text)
