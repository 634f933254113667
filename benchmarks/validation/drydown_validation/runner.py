"""Run the cases side by side, and write what came of them: a table, figures, one JSON file, a page."""

from __future__ import annotations

import json
import multiprocessing
import time
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

from drydown.files import write_text, write_whole

from .cases import CASES, NOT_RUN, case
from .report import HEAD, Outcome, rows

#: Begun first, because they take longest.
LONG = ("hamstad-5", "hamstad-3", "roof-of-hamstad-1", "en15026")


def run_one(name: str, folder: str | None = None) -> Outcome:
    """Run one case; draw its figure to a folder."""
    module = case(name)
    begin = time.perf_counter()
    try:
        result = module.run()
        if folder is not None:
            drawn = result.draw()
            write_whole(Path(folder) / f"{name}.png", lambda part: drawn.savefig(part, dpi=110))
    except Exception as error:  # a case that breaks is a verdict, not the end of the others
        why = f"{type(error).__name__}: {' '.join(str(error).split())[:200]}"
        return Outcome(module.ABOUT, (), time.perf_counter() - begin, why)
    return Outcome(module.ABOUT, result.checks, time.perf_counter() - begin)


def _job(job: tuple[str, str | None]) -> Outcome:
    return run_one(*job)


def run(
    names: Iterable[str] = (),
    folder: Path | None = None,
    processes: int = 2,
    progress: Callable[[float], None] | None = None,
) -> list[Outcome]:
    """Run cases (all of them by default), in the order of the report.

    Parameters
    ----------
    names : iterable of str
        Keys of `CASES`.
    folder : Path, optional
        Write a figure of each case, the machine-readable file and the page there.
    processes : int
        How many run side by side.
    progress : callable, optional
        Called with the fraction done.
    """
    wanted = [name for name in CASES if not (chosen := set(names)) or name in chosen]
    if folder is not None:
        folder.mkdir(parents=True, exist_ok=True)
    jobs = sorted(wanted, key=lambda name: LONG.index(name) if name in LONG else len(LONG))
    where = None if folder is None else str(folder)
    found: dict[str, Outcome] = {}

    def take(name: str, outcome: Outcome) -> None:
        found[name] = outcome
        if progress is not None:
            progress(len(found) / len(jobs))

    if processes > 1 and len(jobs) > 1:
        with multiprocessing.get_context("spawn").Pool(min(processes, len(jobs))) as pool:
            for outcome in pool.imap_unordered(_job, [(name, where) for name in jobs]):
                take(outcome.about.name, outcome)
    else:
        for name in jobs:
            take(name, run_one(name, where))
    outcomes = [found[name] for name in wanted]
    if folder is not None:
        write(outcomes, folder)
    return outcomes


def write(outcomes: Sequence[Outcome], folder: Path) -> None:
    """Write ``validation.json`` and the page ``index.md``; the figures stand beside them."""
    from drydown import __version__

    plain = {
        "drydown": __version__,
        "passed": all(o.passed for o in outcomes),
        "cases": [o.plain() for o in outcomes],
        "not_run": NOT_RUN,
    }
    write_text(folder / "validation.json", json.dumps(plain, indent=1, ensure_ascii=False) + "\n")
    write_text(folder / "index.md", page(outcomes))


def page(outcomes: Sequence[Outcome]) -> str:
    """Return the page: the table first, then each case with its source, its reference and its figure."""
    lines = [
        "# Validation",
        "",
        "Written by `drydown validate --out docs/validation`; do not edit. The command runs the same on any machine.",
        "Every reference is computed without the engine (`drydown_validation.references`). A band is the published one",
        "where there is one, else 0.5 % or tighter; a figure of an order of convergence must reach its band.",
        "",
        "| " + " | ".join(HEAD) + " |",
        "|---|---|---|---|---|",
    ]
    last = ""
    for row in rows(outcomes):
        name = "" if row[0] == last else f"[{row[0]}](#{row[0]})"
        last = row[0]
        lines.append("| " + " | ".join((name, *row[1:])).replace("<=", "≤").replace(">=", "≥") + " |")
    lines += ["", "Not run:", ""]
    lines += [f"- {name}: {why}." for name, why in NOT_RUN.items()]
    for o in outcomes:
        a = o.about
        lines += [
            "",
            f"## {a.name}",
            "",
            f"**{a.title}.**",
            "",
            f"- Source: {a.source}.",
            f"- Reference: {a.reference}.",
        ]
        if a.remark:
            lines.append(f"- {a.remark}")
        if not o.failure:
            lines += ["", f"![{a.title}]({a.name}.png)"]
    return "\n".join(lines) + "\n"
