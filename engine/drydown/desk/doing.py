"""What is worked out for the desk: the answer of the case as it is, then what would change it; the latest wish wins."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import AbstractContextManager
from contextvars import copy_context
from dataclasses import dataclass
from functools import partial
from typing import Any

from ..casefile import CaseFile
from ..casefile.variants import variants_of
from ..errors import InputError
from ..run.simulation import SimulationError
from ..systems import calm_thread
from ..trial.advice import Advice, advise
from .answering import Answer, answer_of
from .cards import cards_of
from .document import Document, Trouble, place
from .known import Known, identity
from .working import Wish, Work

#: Said until the first march of this process is under way: on a new machine its code is compiled before.
FIRST = "making ready for this machine, once: about half a minute"
#: Seconds between two words on progress; of rest after an answer before changes are tried behind.
EVERY, REST = 0.15, 1.0


@dataclass(frozen=True)
class Job:
    """A case to be answered.

    Parameters
    ----------
    version : int
    key : str
        What its answer hangs on.
    given : CaseFile
    """

    version: int
    key: str
    given: CaseFile


class Doing:
    """Answers and advice of the case on the desk.

    Parameters
    ----------
    notify : callable
        Takes the name of an event and what it carries.
    unanswered : callable
        Returns further cases that want an answer, when there is time.
    """

    def __init__(
        self, notify: Callable[[str, Document], None], unanswered: Callable[[], list[CaseFile]] = list
    ) -> None:
        self._notify, self._unanswered = notify, unanswered
        self._lock = threading.RLock()
        self.work = Work(self._act)
        self._answers: Known[Answer] = Known()
        self._advice: Known[tuple[Advice, Document]] = Known()
        self._job: Job | None = None
        self._shown: tuple[int, Answer] | None = None
        self._state, self._fraction, self._words = "idle", 0.0, ""
        self._cards, self._cards_fraction = "none", 0.0
        self._refused: tuple[int, Trouble] | None = None
        self._spoken, self._marched = 0.0, False

    def want(self, version: int, given: CaseFile) -> None:
        """Want the answer of a case; what is known already is there at once."""
        job = Job(version, identity(given.document, given.path), given)
        with self._lock:
            self._job, self._refused = job, None
            self._cards, self._cards_fraction = "none", 0.0
            known = self._answers.get(job.key)
            words = "" if self._marched else FIRST
            self._state, self._fraction, self._words = ("running", 0.0, words) if known is None else ("idle", 1.0, "")
            if known is not None:
                self._shown = version, known
                if self._advice.get(job.key) is not None:
                    self._cards, self._cards_fraction = "done", 1.0
        if known is not None:
            self._notify("answer", {"version": version, "known": True})
        else:
            self._notify("job", {"version": version, "state": "running", "fraction": 0.0, "words": words})
        self.work.want(job)

    def rest(self) -> None:
        """Want nothing: the case cannot be run."""
        self.work.drop()
        with self._lock:
            self._job = None
            self._state, self._fraction, self._words, self._cards = "idle", 0.0, "", "none"

    def alone(self) -> AbstractContextManager[None]:
        """Return a context in which nothing is worked out behind."""
        return self.work.alone()

    def close(self) -> None:
        """Want nothing any more."""
        self.work.close()

    def _act(self, wish: Wish) -> None:
        job: Job = wish.what
        with self._lock:
            answer = self._answers.get(job.key)
        if answer is None:
            try:
                answer = answer_of(job.given, lambda x: self._progress(wish, job, x))
            except (InputError, SimulationError) as error:
                self._failed(wish, job, error)
                return
            wish.halt()
            with self._lock:
                self._answers.put(job.key, answer)
                if self._job is not job:
                    return
                self._shown = job.version, answer
                self._state, self._fraction = "idle", 1.0
            self._notify("answer", {"version": job.version, "known": False})
        wish.rest(REST)
        self._answer_others(wish, job)
        self._try_changes(wish, job)

    def _answer_others(self, wish: Wish, job: Job) -> None:
        for given in self._unanswered():
            wish.halt()
            key = identity(given.document, given.path)
            if self._answers.get(key) is None:
                try:
                    found = answer_of(given, lambda _: wish.halt())
                except (InputError, SimulationError):
                    continue
                with self._lock:
                    self._answers.put(key, found)
                self._notify("state", {"version": job.version})

    def _try_changes(self, wish: Wish, job: Job) -> None:
        with self._lock:
            found = self._advice.get(job.key)
        if found is None:
            self._told_cards(job, "running", 0.0)
            try:
                tables = job.given.document.get("variant")
                own = [(v.name, v.case) for v in variants_of(job.given.document, job.given.path)[1:]] if tables else []
                # in a thread of its own that gives way to the page and to all else; this one could not be quick again
                with ThreadPoolExecutor(1, initializer=calm_thread) as behind:
                    tell = partial(self._told_cards, job, "running", wish=wish)
                    run = copy_context().run
                    advice = behind.submit(run, advise, job.given.case, job.given.limits, tell, own).result()
                found = advice, cards_of(advice, job.given)
            except (InputError, SimulationError):
                self._told_cards(job, "none", 0.0)
                return
            with self._lock:
                self._advice.put(job.key, found)
        self._told_cards(job, "done", 1.0)

    def _told_cards(self, job: Job, state: str, fraction: float, wish: Wish | None = None) -> None:
        if wish is not None:
            wish.halt()
        with self._lock:
            if self._job is not job:
                return
            self._cards, self._cards_fraction = state, fraction
        self._notify("cards", {"version": job.version, "state": state, "fraction": round(fraction, 3)})

    def _progress(self, wish: Wish, job: Job, fraction: float) -> None:
        wish.halt()
        now = time.monotonic()
        with self._lock:
            self._fraction, self._marched = fraction, True
            if now - self._spoken < EVERY or self._job is not job:
                return
            self._spoken = now
            self._words = "running with the water and without" if job.given.case.wettings else "running"
            words = self._words
        data = {"version": job.version, "state": "running", "fraction": round(fraction, 3), "words": words}
        self._notify("job", data)

    def _failed(self, wish: Wish, job: Job, error: Exception) -> None:
        wish.halt()
        with self._lock:
            if self._job is not job:
                return
            self._state, self._fraction = "failed", 0.0
            self._words = error.message if isinstance(error, InputError) else str(error)
            if isinstance(error, InputError):
                at = place(error, job.given.path)
                at = "wetting.1.amount" if error.where.startswith("wetting of") else at
                self._refused = job.version, Trouble(at, error.message)
        data = {"version": job.version, "state": "failed", "fraction": 0.0, "words": self._words}
        self._notify("job", data)
        self._notify("state", {"version": job.version})

    def refused(self, version: int) -> list[Trouble]:
        """Return why a case that could be read could not be run."""
        with self._lock:
            return [self._refused[1]] if self._refused is not None and self._refused[0] == version else []

    def shown(self) -> Document | None:
        """Return the answer that is shown now, which may be that of an earlier version; None: there is none yet."""
        with self._lock:
            return None if self._shown is None else {**self._shown[1].told, "version": self._shown[0]}

    def answer_to(self, version: int) -> Answer | None:
        """Return the answer of a version; None: it is not there."""
        with self._lock:
            return self._shown[1] if self._shown is not None and self._shown[0] == version else None

    def known(self, key: str) -> Answer | None:
        """Return the answer of a case by its identity, where it is known."""
        with self._lock:
            return self._answers.get(key)

    def advice(self, version: int) -> Advice | None:
        """Return what was advised on a version; None: it is not known."""
        with self._lock:
            job = self._job
            found = self._advice.get(job.key) if job is not None and job.version == version else None
            return None if found is None else found[0]

    def cards(self) -> Document:
        """Return the cards of the case as it is, for the page."""
        with self._lock:
            job = self._job
            found = self._advice.get(job.key) if job is not None else None
            head: dict[str, Any] = {"version": 0 if job is None else job.version, "state": self._cards}
            return head | ({"now": "", "sentences": [], "cards": []} if found is None else found[1])

    def standing(self, version: int, waiting: bool) -> Document:
        """Return how the work stands, for the state."""
        with self._lock:
            failed = self._state == "failed"
            state = "waiting" if waiting and not failed else self._state
            return {
                "job": {"state": state, "fraction": round(self._fraction, 3), "words": self._words},
                "answer": 0 if self._shown is None else self._shown[0],
                "cards": {"state": self._cards, "fraction": round(self._cards_fraction, 3), "version": version},
            }
