"""How fast the desk answers, what memory it takes, and that of fifty changes one run is left.

    python benchmarks/desk.py                      # 40 changes of a two-year trial, timed
    python benchmarks/desk.py --changes 20 --memory 200 --burst 50

Timed is what the page waits for: from the moment at which a change is sent until the event that says its answer is
there and the answer has been fetched. Every change makes a wall that was not answered before. Half of them come at
once, half while what would change the wall is being tried behind. Beside them stands a known run, measured in the same
minutes: one march of the dry wall in its mesh, on one core. On a machine that others use only the ratio tells.
"""

from __future__ import annotations

import argparse
import http.client
import json
import os
import random
import statistics
import tempfile
import threading
import time
from dataclasses import replace
from typing import Any

import psutil
import uvicorn

TOKEN = "a-token-of-the-benchmark"
FILMS = (
    "polyamide film 0.05 mm", "humidity-dependent vapour retarder", "kraft paper facing", "polyethylene 0.15 mm",
    "polyethylene 0.05 mm",
)  # fmt: skip


class Page:
    """Asks the desk as a page does."""

    def __init__(self, port: int) -> None:
        self.port = port
        self.origin = f"http://127.0.0.1:{port}"
        self.headers = {"Cookie": f"drydown_desk_{port}={TOKEN}", "Origin": self.origin}
        self.answered: dict[int, float] = {}
        self.news = threading.Condition()
        threading.Thread(target=self._listen, daemon=True).start()

    def _listen(self) -> None:
        wire = http.client.HTTPConnection("127.0.0.1", self.port, timeout=600)
        wire.request("GET", "/api/events", headers=self.headers)
        answer, event = wire.getresponse(), ""
        while line := answer.readline().decode():
            if line.startswith("event: "):
                event = line[7:].strip()
            elif line.startswith("data: ") and event == "answer":
                with self.news:
                    self.answered[json.loads(line[6:])["version"]] = time.perf_counter()
                    self.news.notify_all()

    def ask(self, path: str, body: Any = None) -> Any:
        """Return what a path gives."""
        wire = http.client.HTTPConnection("127.0.0.1", self.port, timeout=600)
        if body is None:
            wire.request("GET", path, headers=self.headers)
        else:
            wire.request("POST", path, json.dumps(body), {**self.headers, "Content-Type": "application/json"})
        answer = wire.getresponse()
        text = answer.read()
        wire.close()
        if answer.status != 200:
            raise RuntimeError(text.decode())
        return json.loads(text)

    def wait(self, version: int) -> None:
        """Wait for the answer of a version."""
        with self.news:
            while version not in self.answered:
                if not self.news.wait(600):
                    raise RuntimeError(f"no answer to {version}")

    def change(self, edit: dict[str, Any]) -> tuple[float, float]:
        """Make a change and wait for its answer; return the seconds, and those that the desk was at work on it."""
        began = time.perf_counter()
        version = self.ask("/api/edit", edit)["version"]
        self.wait(version)
        answer = self.ask("/api/answer")
        return time.perf_counter() - began, answer["worked"]


def changes(draw: random.Random, months: bool = True):
    """Yield changes as a builder makes them, each to a wall that was not there before."""
    while True:
        yield {"op": "set", "at": "layer.dense cellulose.thickness", "value": f"{draw.uniform(120, 240):.3f} mm"}
        yield {"op": "ask", "at": "amount", "value": f"{draw.uniform(0.5, 2.5):.4f} kg/m2"}
        yield {"op": "set", "at": "layer.6.film", "value": draw.choice(FILMS)}
        yield {"op": "set", "at": "layer.OSB.thickness", "value": f"{draw.uniform(9, 22):.3f} mm"}
        if months:
            yield {"op": "ask", "at": "month", "value": draw.randint(1, 12)}
        yield {"op": "set", "at": "outside.orientation", "value": f"{draw.uniform(0, 360):.2f} deg"}
        yield {"op": "ask", "at": "indoor", "value": f"{draw.uniform(18, 23):.2f} degC {draw.uniform(30, 55):.1f} %"}


def memory() -> float:
    """Return the memory of this process [MB]."""
    return psutil.Process().memory_info().rss / 1e6


def main() -> None:
    """Measure and print."""
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--changes", type=int, default=40, help="timed, each with its answer")
    words.add_argument("--memory", type=int, default=0, help="changes in a row, memory watched: 200")
    words.add_argument("--days", type=int, default=0, help="a shorter trial, where memory alone is of interest")
    words.add_argument("--burst", type=int, default=50, help="changes within five seconds")
    words.add_argument("--seed", type=int, default=int(os.environ.get("DRYDOWN_SEED", "1")))
    given = words.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        os.environ["XDG_STATE_HOME"] = folder
        os.chdir(folder)
        measure(given)


def measure(given: argparse.Namespace) -> None:
    """Serve a desk and measure it."""
    from drydown.desk.guard import Guard
    from drydown.desk.opening import opened
    from drydown.desk.serving import taken_socket

    served = opened(None)
    listening = taken_socket(0)
    port = listening.getsockname()[1]
    options = dict(log_config=None, lifespan="off", http="h11", ws="none", timeout_graceful_shutdown=1)
    server = uvicorn.Server(uvicorn.Config(Guard(served.app, port, TOKEN), **options))
    served.ending = lambda: server.should_exit
    threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True).start()
    page = Page(port)
    page.change({"op": "set", "at": "title", "value": "a wall to be timed"})
    if given.days:
        page.change({"op": "set", "at": "period", "value": {"start": "2022-01-01", "days": given.days}})
    draw = random.Random(given.seed)
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    length = f"{given.days}-day" if given.days else "two-year"
    print(f"a {length} trial on {cores} cores, load {os.getloadavg()[0]:.1f}, seed {given.seed}")
    edits = changes(draw, months=not given.days)
    if given.changes:
        timed(page, edits, served, given.changes)
    if given.burst:
        burst(page, edits, served, given.burst)
    if given.memory:
        watched(page, edits, given.memory)
    server.should_exit = True
    served.close()


def known_run(served: Any) -> tuple[float, int]:
    """Return the seconds of a march of the dry wall in its mesh, and the cells."""
    from drydown.lowering.problem import mesh_of
    from drydown.run.simulation import simulate

    case = served.desk.given().case
    grid = mesh_of(case)
    began = time.perf_counter()
    simulate(replace(case, wettings=()), grid=grid)
    return time.perf_counter() - began, len(grid.dx)


def timed(page: Page, edits: Any, served: Any, number: int) -> None:
    """Time changes, with the known run between them."""
    seconds, worked, known, cells = [], [], [], []
    for i in range(number):
        time.sleep(2.0 if i % 2 else 0.1)  # at once, or while changes are tried behind
        took, work = page.change(next(edits))
        seconds.append(took)
        worked.append(work)
        if i % 4 == 0:
            with served.desk.doing.alone():
                one, width = known_run(served)
            known.append(one)
            cells.append(width)
    ordered = sorted(seconds)
    most = ordered[min(len(ordered) - 1, int(0.95 * len(ordered)))]
    usual, unit = statistics.median(seconds), statistics.median(known)
    print(f"cells: {min(cells)} to {max(cells)}; known run (one march on one core): {unit:.2f} s")
    print(
        f"from a change to its answer, {number} changes: median {usual:.2f} s, 19 of 20 below {most:.2f} s, "
        f"worst {ordered[-1]:.2f} s"
    )
    print(
        f"of it the thread that answers was at work: median {statistics.median(worked):.2f} s, "
        f"worst {max(worked):.2f} s"
    )
    print(f"over the known run: median {usual / unit:.2f}, 19 of 20 below {most / unit:.2f}")


def burst(page: Page, edits: Any, served: Any, number: int) -> None:
    """Make many changes in five seconds and see how many runs are at work."""
    work, over, most = served.desk.doing.work, threading.Event(), [0]

    def look() -> None:
        while not over.is_set():
            most[0] = max(most[0], work.at_work)
            time.sleep(0.002)

    watcher = threading.Thread(target=look)
    watcher.start()
    began = time.perf_counter()
    for i in range(number):
        version = page.ask("/api/edit", next(edits))["version"]
        time.sleep(max(0.0, began + 5.0 * (i + 1) / number - time.perf_counter()))
    took = time.perf_counter() - began
    left = work.at_work
    last = time.perf_counter()
    page.wait(version)
    over.set()
    watcher.join()
    print(
        f"{number} changes in {took:.1f} s: at most {most[0]} run at work, {left} left; "
        f"the last was answered {page.answered[version] - last:.2f} s later"
    )


def watched(page: Page, edits: Any, number: int) -> None:
    """Watch memory over changes in a row, each with its answer."""
    after: dict[int, float] = {}
    for i in range(1, number + 1):
        page.change(next(edits))
        if i in (1, 20) or i % 20 == 0:
            after[i] = memory()
    grown = max(v for i, v in after.items() if i >= 20 or number < 20) - after.get(20, after[1])
    first = after.get(20, after[1])
    print(f"memory after 20 changes {first:.0f} MB, after {number}: {memory():.0f} MB; at most {grown:+.0f} MB")


if __name__ == "__main__":
    main()
