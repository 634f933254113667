"""Inputs out of joint by the thousand: no traceback, no hang, one line and the exit code that is documented.

    python benchmarks/fuzz.py --minutes 30            # everything, as long as told
    python benchmarks/fuzz.py --cases 10000 --tables 2000 --studies 500 --catalogues 500 --stores 200 --seed 7

Case files are read and lowered as the commands do; some are run through the command itself. Weather files, catalogues
and studies are read and checked. A store that was spoilt is run again, and what is gathered must be what a run without
any store gives, bit for bit, or be refused. Every input comes from the seed and its number alone: `--only cases:1234`
looks at one again. What is found is kept in the folder `--keep`.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import random
import shutil
import signal
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
import fuzz_inputs as inputs

#: Seconds after which an input counts as hanging.
LONGEST = 10.0
#: Exit codes that are documented.
CODES = (0, 2, 3)
KINDS = ("cases", "tables", "studies", "catalogues", "stores")


class Hang(BaseException):
    """An input took too long."""


class Wrong(Exception):
    """An answer that is not what it should be."""


@contextlib.contextmanager
def limited(seconds: float) -> Iterator[None]:
    """Raise `Hang` after some seconds, where the system has alarms."""
    if not hasattr(signal, "setitimer"):
        yield
        return

    def over(*about: Any) -> None:
        raise Hang(about)

    before = signal.signal(signal.SIGALRM, over)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0.0)
        signal.signal(signal.SIGALRM, before)


def command(*words: str) -> int:
    """Run the command in this process and return its exit code; what it said must be in lines of its own."""
    from click.testing import CliRunner
    from drydown.cli import main

    done = CliRunner().invoke(main, list(words))
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    if done.exit_code not in CODES:
        raise Wrong(f"exit code {done.exit_code}")
    if done.exit_code == 2 and not done.stderr.strip().splitlines()[-1].startswith("drydown: "):
        raise Wrong(f"no line of ours: {done.stderr[-200:]}")
    return done.exit_code


def cases(draw: random.Random, folder: Path) -> str:
    """Read and lower a case file out of joint; run one in twenty."""
    from drydown.casefile import read_file
    from drydown.casefile.variants import variants_of
    from drydown.lowering.problem import lower

    path = folder / "wall.toml"
    path.write_bytes(inputs.mutated(draw, inputs.CASE))
    run = draw.random() < 0.05
    try:
        given = read_file(path)
        problem = lower(given.case)
        if given.document.get("variant"):
            variants_of(given.document, path)
    except ValueError as error:
        refused(error)
        return "refused" if not run else f"command: {command('run', str(path))}"
    if run and len(problem.forcing.marks) < 24 * 10:
        return f"command: {command('run', str(path), '-o', str(folder / 'out.nc'))}"
    return "read"


def refused(error: ValueError) -> None:
    """Check that a refusal is one of ours, in one line of bearable length."""
    from drydown.errors import InputError

    if not isinstance(error, InputError):
        raise error
    if "\n" in str(error) or len(str(error)) > 2000:
        raise Wrong(f"a message of {len(str(error))} letters: {str(error)[:200]!r}")


def tables(draw: random.Random, folder: Path) -> str:
    """Read a weather file out of joint."""
    from drydown.climate.weather.files import read_weather

    try:
        read_weather(inputs.weather_table(draw, folder / "weather.csv"))
    except ValueError as error:
        refused(error)
        return "refused"
    return "read"


def studies(draw: random.Random, folder: Path) -> str:
    """Read a study file out of joint, and look at its cases; nothing is run."""
    from drydown.study import read_study

    (folder / "wall.toml").write_bytes(
        inputs.mutated(draw, inputs.CASE) if draw.random() < 0.1 else inputs.toml_text(inputs.CASE).encode()
    )
    (folder / "study.toml").write_bytes(inputs.mutated(draw, inputs.STUDY))
    try:
        made = read_study(folder / "study.toml")
        made.only(min(3, len(made))).check()
        made.inputs()
    except ValueError as error:
        refused(error)
        return "refused"
    return "read"


def catalogues(draw: random.Random, folder: Path) -> str:
    """Build every entry of a catalogue out of joint, and check it as a case file would."""
    from drydown.catalogue.file import read_catalogue
    from drydown.materials.contract import problems

    (folder / "own.toml").write_bytes(inputs.mutated(draw, inputs.CATALOGUE))
    try:
        for entry in read_catalogue(folder / "own.toml").values():
            problems(entry())
    except ValueError as error:
        refused(error)
        return "refused"
    return "read"


def _plain(a: float, b: float) -> float:
    return a * 10.0 + b


def stores(draw: random.Random, folder: Path) -> str:
    """Spoil a store, run it again and compare what is gathered with a run without a store."""
    from drydown.study import Axis, FunctionModel, Study, gather, run, solve

    made = Study((Axis("a", (1.0, 2.0, 3.0)), Axis("b", (0.5, 0.25))), FunctionModel(_plain), block=2)
    store = folder / "store"
    run(made, store, workers=1)
    inputs.spoil_store(draw, store)
    try:
        run(made, store, workers=1)
        found = gather(made, store)
    except (ValueError, OSError) as error:
        if isinstance(error, ValueError):
            refused(error)
        return "refused"
    with found:
        if not np.array_equal(found["value"].values, solve(made, workers=1)["value"].values):
            raise Wrong("other values than a run without a store")
    return "whole"


def one(kind: str, seed: int, number: int, keep: Path) -> tuple[str, str]:
    """Return what became of one input: a word, and the traceback where there is one."""
    draw = random.Random(f"{seed}:{kind}:{number}")
    folder = Path(tempfile.mkdtemp(prefix="drydown-fuzz-"))
    work: Callable[[random.Random, Path], str] = globals()[kind]
    began = time.process_time()  # other work on the machine is not the input's fault
    try:
        with warnings.catch_warnings(), limited(6 * LONGEST):
            warnings.simplefilter("ignore")
            word, said = work(draw, folder), ""
        if (took := time.process_time() - began) > LONGEST:
            word, said = "SLOW", f"{took:.1f} s"
    except Hang:
        word, said = "HANG", "".join(traceback.format_exc())
    except (Exception, SystemExit):
        word, said = "TRACEBACK", "".join(traceback.format_exc())
    if said:
        kept = keep / f"{kind}-{seed}-{number}"
        shutil.rmtree(kept, ignore_errors=True)
        shutil.copytree(folder, kept, symlinks=True)
        (kept / "said.txt").write_text(said, encoding="utf-8")
    shutil.rmtree(folder, ignore_errors=True)
    return word, said


def warm_up(folder: Path) -> None:
    """Compile the kernel and make the climate, which is no input's time."""
    path = folder / "wall.toml"
    path.write_text(inputs.toml_text(inputs.CASE), encoding="utf-8")
    if code := command("run", str(path)):
        raise SystemExit(f"the case that the others are made of cannot be run (exit code {code})")
    path.unlink()


def main() -> int:
    """Fuzz, and print how many inputs of each kind came to what."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--minutes", type=float, default=0.0, help="go on with every kind in turn as long as this")
    parser.add_argument("--seed", type=int, default=int.from_bytes(os.urandom(3), "big"))
    parser.add_argument("--keep", type=Path, default=Path("fuzz-found"), help="where inputs that break something go")
    parser.add_argument("--only", metavar="KIND:NUMBER", help="one input again")
    for kind in KINDS:
        parser.add_argument(f"--{kind}", type=int, default=0)
    given = parser.parse_args()
    keep = given.keep.resolve()
    if given.only:
        kind, _, number = given.only.partition(":")
        print(*one(kind, given.seed, int(number), keep), sep="\n")
        return 0
    counts = {kind: Counter[str]() for kind in KINDS}
    found: dict[str, str] = {}
    home = Path.cwd()
    work = Path(tempfile.mkdtemp(prefix="drydown-fuzz-"))
    os.chdir(work)
    began = time.monotonic()
    print(f"seed {given.seed}", flush=True)
    warm_up(work)

    def turn(kind: str, number: int) -> None:
        word, said = one(kind, given.seed, number, keep)
        counts[kind][word] += 1
        if counts[kind].total() % 500 == 0:
            print(f"{kind}: {counts[kind].total()} so far", flush=True)
        if said:
            last = said.strip().splitlines()[-1][:160]
            if last not in found:
                found[last] = f"--only {kind}:{number} --seed {given.seed}"
                print(f"{kind} {number}: {word}: {last}", flush=True)

    try:
        for kind in KINDS:
            for number in range(getattr(given, kind)):
                turn(kind, number)
        number = max(getattr(given, kind) for kind in KINDS)
        while time.monotonic() - began < 60.0 * given.minutes:
            for kind, often in zip(KINDS, (10, 4, 2, 2, 1), strict=True):
                for i in range(often):
                    turn(kind, number * often + i)
            number += 1
    finally:
        os.chdir(home)
        shutil.rmtree(work, ignore_errors=True)
    for kind, count in counts.items():
        if count:
            told = ", ".join(f"{n} {word}" for word, n in sorted(count.items()))
            print(f"{kind}: {count.total()} inputs: {told}")
    bad = sum(n for count in counts.values() for word, n in count.items() if word.isupper())
    print(f"{bad} broke something, {time.monotonic() - began:.0f} s, seed {given.seed}")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
