"""Error against seconds: the engine and general-purpose integrators on the same equations of one wall.

    pip install 'drydown[speed]'
    python benchmarks/speed/work_precision.py --days 10 --figure work_precision.png

The 100-cell wall of `benchmarks/year.py` from the first of January, the weather of fernmoor. All get the same cells,
tables and hourly forcing and the same compiled rates (`equations.py`); CVODE (BDF, banded), LSODA (banded) and Radau
get the Jacobian as well and as an alternative form their own by differences. CVODE runs through or begins anew where
the rain changes; of all settings the best at each error is what is compared. One thread; the times are seconds of the
processor in the integration alone, all in one run. The reference is CVODE with tolerances far below, begun anew at
every hour; what the engine's own tight run differs from it is printed beside.

Error: root mean square over the hours in the worst cell, of relative humidity [%] and of temperature [K].
"""

from __future__ import annotations

import argparse
import itertools
import platform
import sys
import time
import warnings
from collections.abc import Callable
from dataclasses import replace
from importlib.metadata import version
from pathlib import Path
from typing import NamedTuple

import numpy as np
from drydown.lowering.problem import lower
from drydown.run.simulation import chunks
from equations import BAND, Equations
from scipy.integrate import solve_ivp
from scipy.sparse import csc_matrix, diags

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
import year

#: Errors of u and T [K] that a tolerance of 1 stands for.
UNIT_U, UNIT_T = 1e-2, 1e-1


class Run(NamedTuple):
    """One integration: who, with what, seconds, errors of humidity [%] and temperature [K], calls of the rates."""

    name: str
    tolerance: float
    seconds: float
    humidity: float
    temperature: float
    calls: int


def weights(n: int, tolerance: float) -> np.ndarray:
    """Return the absolute tolerance of every unknown."""
    return tolerance * np.tile([UNIT_U, UNIT_T], n // 2)


def cvode(eq: Equations, tolerance: float, begin_at: np.ndarray, own: bool, order: int = 5) -> np.ndarray:
    """Integrate by CVODE, begun anew at some marks; return the state at every mark."""
    from sksundae.cvode import CVODE

    states = np.empty((len(eq.marks), len(eq.start)))
    states[0] = eq.start
    bounds = [*begin_at, len(eq.marks) - 1]
    for a, b in itertools.pairwise(bounds):
        held = a if b == a + 1 else None
        rates, jacobian = eq.between(held)
        options = {} if own else {"jacfn": lambda t, y, yp, jac: jacobian(t, y, jac)}  # noqa: B023
        solver = CVODE(
            rates,
            rtol=1e-14, atol=weights(len(eq.start), tolerance), linsolver="band", lband=BAND, uband=BAND,
            max_num_steps=1_000_000, max_order=order, **options,
        )  # fmt: skip
        found = solver.solve(eq.marks[a : b + 1] if b > a + 1 else np.array([eq.marks[a], eq.marks[b]]), states[a])
        if not found.success:
            raise RuntimeError(found.message)
        states[a : b + 1] = found.y[:: 1 if b > a + 1 else len(found.y) - 1]
    return states


def of_scipy(eq: Equations, method: str, tolerance: float, own: bool) -> np.ndarray:
    """Integrate by LSODA or Radau of scipy; return the state at every mark."""
    n = len(eq.start)
    options: dict = {"lband": BAND, "uband": BAND} if method == "LSODA" else {}

    def rates(t: float, y: np.ndarray) -> np.ndarray:
        out = np.empty(n)
        eq.rates(t, y, out)
        return out

    def square(t: float, y: np.ndarray) -> np.ndarray:
        out = np.zeros((n, n))
        eq.jacobian(t, y, out)
        return out

    if method == "Radau":
        pattern = diags([1.0] * (2 * BAND + 1), range(-BAND, BAND + 1), shape=(n, n))
        options |= {"jac_sparsity": pattern} if own else {"jac": lambda t, y: csc_matrix(square(t, y))}
    elif not own:

        def packed(t: float, y: np.ndarray) -> np.ndarray:
            full = square(t, y)
            out = np.zeros((2 * BAND + 1, n))
            for d in range(-BAND, BAND + 1):
                row = np.diagonal(full, d)
                out[BAND - d, max(d, 0) : max(d, 0) + len(row)] = row
            return out

        options |= {"jac": packed}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = solve_ivp(
            rates, (eq.marks[0], eq.marks[-1]), eq.start, method, eq.marks, rtol=3e-14,
            atol=weights(n, tolerance), **options,
        )  # fmt: skip
    if not found.success:
        raise RuntimeError(found.message)
    return found.y.T


def engine(case, tolerance: float) -> tuple[np.ndarray, float]:
    """Return the states of the engine at the hours, and its seconds."""
    if tolerance < 0.2:
        case = replace(case, numerics=replace(case.numerics, max_step=max(1800.0 * tolerance**0.5, 60.0)))
    elif tolerance > 1.0:
        case = replace(case, numerics=replace(case.numerics, max_step=3600.0))
    case = replace(case, numerics=replace(case.numerics, tolerance=tolerance))
    problem = lower(case)
    t0 = time.process_time()
    rows = [record for _, record in chunks(problem)]
    seconds = time.process_time() - t0
    u, temperature = (np.concatenate([getattr(r, name) for r in rows]) for name in ("u", "temperature"))
    return np.stack([u, temperature], axis=2).reshape(len(u), -1), seconds


def errors(states: np.ndarray, reference: np.ndarray) -> tuple[float, float]:
    """Return the errors of humidity [%] and temperature [K] in the worst cell."""
    phi, true = (100.0 * np.exp(-np.exp(s[:, 0::2])) for s in (states, reference))
    rms = [np.sqrt(np.mean(d**2, axis=0)).max() for d in (phi - true, states[:, 1::2] - reference[:, 1::2])]
    return float(rms[0]), float(rms[1])


def seconds_at(runs: list[Run], level: float, kind: str) -> float:
    """Return the least seconds in which an error is reached, between the runs in logarithms; NaN where none does."""
    points = sorted((getattr(r, kind), r.seconds) for r in runs)
    front: list[tuple[float, float]] = []
    for error, seconds in points:  # a run that is slower and worse than another does not count
        if not front or seconds < front[-1][1]:
            front.append((error, seconds))
    if not front or level < front[0][0]:
        return float("nan")
    e, s = np.log(np.array(front)).T
    return float(np.exp(np.interp(np.log(level), e, s)))


def contestants(eq: Equations) -> dict[str, Callable[[float], np.ndarray]]:
    """Return the integrators, each with its settings, by name."""
    rain = np.asarray(eq.forcing.outside)[:, 5]
    changes = np.flatnonzero(np.diff(rain[1:], prepend=rain[1]) != 0.0)
    anew = np.unique([0, *changes])
    through = np.array([0])
    return {
        "CVODE, through": lambda tol: cvode(eq, tol, through, own=False),
        "CVODE, through, own Jacobian": lambda tol: cvode(eq, tol, through, own=True),
        "CVODE, order 2": lambda tol: cvode(eq, tol, through, own=False, order=2),
        "CVODE, anew at rain": lambda tol: cvode(eq, tol, anew, own=False),
        "LSODA": lambda tol: of_scipy(eq, "LSODA", tol, own=False),
        "LSODA, own Jacobian": lambda tol: of_scipy(eq, "LSODA", tol, own=True),
        "Radau": lambda tol: of_scipy(eq, "Radau", tol, own=False),
    }


def main() -> None:
    """Run all, print the table and the ratios, draw."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--days", type=int, default=10)
    parser.add_argument("--figure", type=Path)
    parser.add_argument("--repeat", type=int, default=3, help="runs of the engine at each tolerance; the median counts")
    asked = parser.parse_args()
    case = year.case()
    begin = case.start + np.timedelta64(92, "D")
    case = replace(case, start=begin, end=begin + np.timedelta64(asked.days, "D"))
    eq = Equations(case)
    print(f"{platform.machine()}, Python {platform.python_version()}", end="")
    print("".join(f", {p} {version(p)}" for p in ("numpy", "scipy", "numba", "scikit-sundae")))
    year.march(replace(case, end=begin + np.timedelta64(1, "D")))  # compiled
    eq.rates(0.0, eq.start, np.empty_like(eq.start))
    eq.jacobian(0.0, eq.start, np.zeros((len(eq.start),) * 2))
    took = [time.process_time()]
    for _ in range(200):
        eq.rates(0.0, eq.start, np.empty_like(eq.start))
    took.append(time.process_time())
    print(f"one evaluation of the rates: {1e6 * (took[1] - took[0]) / 200:.0f} microseconds")
    reference = cvode(eq, 1e-6, np.arange(len(eq.marks) - 1), own=False)
    print(f"faces: {eq.face_trouble(reference[:: len(reference) // 20]):.0e} of the greatest rate left")
    half = errors(cvode(eq, 1e-5, np.arange(len(eq.marks) - 1), own=False), reference)
    print(f"reference against one of ten times its tolerance: {half[0]:.1e} % and {half[1]:.1e} K")
    tight, _ = engine(case, 0.001)
    print("engine at tolerance 0.001 against the reference: {:.1e} % and {:.1e} K".format(*errors(tight, reference)))

    runs: dict[str, list[Run]] = {"engine": []}
    for tolerance in (10.0, 3.0, 1.0, 0.3, 0.1, 0.03, 0.01, 0.003):
        found = [engine(case, tolerance) for _ in range(asked.repeat)]
        took_s = float(np.median([f[1] for f in found]))
        runs["engine"].append(Run("engine", tolerance, took_s, *errors(found[0][0], reference), 0))
    for name, integrate in contestants(eq).items():
        runs[name] = []
        for tolerance in (1.0, 0.3, 0.1, 0.03, 0.01, 0.003, 0.001, 0.0003):
            eq.calls = 0
            t0 = time.process_time()
            try:
                states = integrate(tolerance)
            except RuntimeError as error:
                print(f"{name} at {tolerance:g}: {error}")
                continue
            runs[name].append(Run(name, tolerance, time.process_time() - t0, *errors(states, reference), eq.calls))
    report(runs)
    if asked.figure:
        draw(runs, asked.days, asked.figure)


def report(runs: dict[str, list[Run]]) -> None:
    """Print every run, and how much longer the best of the others takes at equal error."""
    print("                              tolerance  seconds      RH [%]       T [K]  rates")
    for several in runs.values():
        for r in several:
            print(
                f"{r.name:30s}{r.tolerance:9g} {r.seconds:8.3f} {r.humidity:11.2e} {r.temperature:11.2e} {r.calls:6d}"
            )
    families = {"CVODE": "CVODE", "LSODA": "LSODA", "Radau": "Radau"}
    print("times the engine takes at equal error (best settings of each)")
    for kind, unit in (("humidity", "%"), ("temperature", "K")):
        for own in runs["engine"]:
            level = getattr(own, kind)
            mine = seconds_at(runs["engine"], level, kind)
            others = []
            for family in families:
                theirs = [r for name, several in runs.items() if name.startswith(family) for r in several]
                others.append(f"{family} {seconds_at(theirs, level, kind) / mine:6.1f}")
            print(f"{kind:12s} {level:.1e} {unit}: " + ", ".join(others))


def draw(runs: dict[str, list[Run]], days: int, path: Path) -> None:
    """Draw error against seconds."""
    import matplotlib.pyplot as plt

    figure, axes = plt.subplots(1, 2, figsize=(11, 4.2), sharey=True, layout="constrained")
    for axis, kind, words in zip(
        axes, ("humidity", "temperature"), ("relative humidity [%]", "temperature [K]"), strict=True
    ):
        for name, several in runs.items():
            line = sorted((getattr(r, kind), r.seconds) for r in several)
            style = {"lw": 2.5, "color": "black"} if name == "engine" else {"lw": 1.0}
            axis.loglog(*np.array(line).T, marker="o", ms=3, label=name, **style)
        axis.set_xlabel(f"rms error of {words}, worst cell")
        axis.grid(alpha=0.3, which="both")
    axes[0].set_ylabel(f"seconds for {days} days of 100 cells")
    figure.legend(*axes[0].get_legend_handles_labels(), loc="outside right center", fontsize=8, frameon=False)
    figure.savefig(path, dpi=150)


if __name__ == "__main__":
    main()
