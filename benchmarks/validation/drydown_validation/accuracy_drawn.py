"""The promise on accuracy, judged on walls drawn anew: which keep it, which do not, where and why."""

from __future__ import annotations

import multiprocessing
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np
from drydown import Case, InputError, Layer
from drydown.run.simulation import SimulationError

from .accuracy import FINER, HUMIDITY, TEMPERATURE, TIGHT, as_held, at_centres, march, rms
from .practice_walls import drawn

#: Share of the walls that keep the promise, and what none may pass [-] (DESIGN section 6).
SHARE, NONE_ABOVE = 0.99, 5e-3
#: The greatest single hour counts after these; the hours before hold the start, a jump that no wall sees.
HOURS_LEFT_OUT = 48


@dataclass(frozen=True)
class Judged:
    """What was measured on one wall.

    Errors of the worst cell, root mean square over the hours and greatest hour after the first two days, humidity [-]
    and temperature [K]; the part of time alone where it fails; where; effort; what `mesh_error` said, and the error
    of the mesh alone [-]; the error in humidity against what the fine mesh holds in each cell (`as_held`) [-].
    """

    number: int
    name: str
    humidity: float = np.nan
    temperature: float = np.nan
    hour_humidity: float = np.nan
    hour_temperature: float = np.nan
    where: str = ""
    why: str = ""
    cells: int = 0
    steps: int = 0
    seconds: float = 0.0
    estimate: float = np.nan
    exact: float = np.nan
    held: float = np.nan
    failure: str = ""

    @property
    def kept(self) -> bool:
        """Whether the promise is kept."""
        return self.humidity < HUMIDITY and self.temperature < TEMPERATURE


def judge(number: int, seed: int, days: int, check: bool = False) -> Judged:
    """Draw a wall and measure it; `check` compares what `mesh_error` says with the error of the mesh as well."""
    case = drawn(seed, number, days)
    names = [layer.name for layer in case.assembly.layers]
    try:
        usual = march(case)
        fine = march(case, **TIGHT, refine=FINER)
        off = np.abs(usual.humidity - at_centres(usual, fine, fine.humidity))
        warm = np.abs(usual.temperature - at_centres(usual, fine, fine.temperature))
        e, f = rms(off, 0.0), rms(warm, 0.0)
        held = float(rms(usual.humidity, as_held(case, usual, fine)).max())
        worst = int(np.argmax(e if e.max() / HUMIDITY > f.max() / TEMPERATURE else f))
        inside = np.flatnonzero(usual.layer == usual.layer[worst])
        label = names[usual.layer[worst]] if usual.layer[worst] >= 0 else "contact air"
        phi = usual.humidity[:, worst]
        why = ""
        if e.max() >= HUMIDITY or f.max() >= TEMPERATURE:
            same = march(case, **TIGHT)
            squares = off[:, worst] ** 2
            late = float(np.mean(squares[HOURS_LEFT_OUT:]) / np.mean(squares)) ** 0.5
            why = (
                f"{1e3 * usual.width[worst]:.2g} mm cell between {100 * phi.min():.0f} and {100 * phi.max():.0f} % RH; "
                f"time alone {100 * rms(usual.humidity, same.humidity).max():.3f} % RH; "
                f"{late:.0%} of it after two days, {squares.max() / squares.sum():.0%} of its square in one hour; "
                f"as held {100 * held:.3f} %; all: {', '.join(layer_words(case))}"
            )
        estimate, exact = np.nan, np.nan
        if check:
            estimate, exact = checked(case)
    except (SimulationError, InputError) as error:
        return Judged(number, case.name, failure=str(error))
    return Judged(
        number,
        case.name,
        float(e.max()),
        float(f.max()),
        float(off[HOURS_LEFT_OUT:].max(initial=0.0)),
        float(warm[HOURS_LEFT_OUT:].max(initial=0.0)),
        f"{label}, cell {worst - inside[0] + 1} of {len(inside)}",
        why,
        len(usual.x),
        usual.steps,
        usual.seconds,
        estimate,
        exact,
        held,
    )


def layer_words(case: Case) -> list[str]:
    """Return films and layers with their thickness, outside to inside."""
    parts = case.assembly.parts
    return [f"{p.name} {1e3 * p.thickness:.3g} mm" if isinstance(p, Layer) else p.name for p in parts]


def checked(case: Case) -> tuple[float, float]:
    """Return what `mesh_error` says of the humidity [-], and the error of the mesh alone (four times the cells)."""
    from drydown import simulate
    from drydown.run.mesh_error import mesh_error

    said = mesh_error(case, simulate(case))
    usual, fine = march(case), march(case, refine=FINER)
    return float(said["mesh_error_humidity"]), float(rms(usual.humidity, at_centres(usual, fine, fine.humidity)).max())


def judge_all(walls: int, seed: int, days: int, processes: int = 2, check: bool = False) -> Iterator[Judged]:
    """Judge walls 0, 1, ... of a seed, side by side, in their order."""
    work = partial(judge, seed=seed, days=days, check=check)
    if processes == 1:
        yield from map(work, range(walls))
        return
    with multiprocessing.get_context("spawn").Pool(processes) as pool:
        yield from pool.imap(work, range(walls))


def line(wall: Judged) -> str:
    """Return what there is to say of one wall that breaks the promise."""
    if wall.failure:
        return f"{wall.name}: {wall.failure}"
    return (
        f"{wall.name}: {100 * wall.humidity:.3f} % RH, {wall.temperature:.3f} K rms, {wall.cells} cells; "
        f"worst in {wall.where}, {wall.why}"
    )


def summary(found: list[Judged], seed: int, days: int) -> str:
    """Return the verdict on all walls."""
    ran = [w for w in found if not w.failure]
    kept = sum(w.kept for w in ran)
    e, f = np.array([w.humidity for w in ran]), np.array([w.temperature for w in ran])
    lines = [
        f"{kept} of {len(found)} walls of seed {seed}, {days} days each, keep {100 * HUMIDITY:g} % RH and "
        f"{TEMPERATURE:g} K, root mean square over the hours in every cell (default mesh and steps against",
        f"{FINER:g} times the cells at tight steps); {len(found) - len(ran)} failed to run; "
        f"{int(np.sum(e >= NONE_ABOVE))} above {100 * NONE_ABOVE:g} % RH",
        f"worst {100 * e.max():.3f} % RH ({ran[int(e.argmax())].name}) and {f.max():.3f} K "
        f"({ran[int(f.argmax())].name}); median {100 * np.median(e):.3f} % RH, {np.median(f):.3f} K",
        f"greatest single hour after the first two days: {100 * max(w.hour_humidity for w in ran):.2f} % RH, "
        f"{max(w.hour_temperature for w in ran):.2f} K",
        f"{np.mean([w.cells for w in ran]):.0f} cells (largest {max(w.cells for w in ran)}) and "
        f"{365 / days * np.mean([w.steps for w in ran]):.0f} steps a year on average",
    ]
    held = np.array([w.held for w in ran])
    lines.append(
        f"against what the fine mesh holds in each cell, instead of its humidity at the centre: "
        f"{int(np.sum((held < HUMIDITY) & (f < TEMPERATURE)))} of {len(found)} keep it, "
        f"{int(np.sum(held >= NONE_ABOVE))} above {100 * NONE_ABOVE:g} %, worst {100 * held.max():.3f} % "
        f"({ran[int(held.argmax())].name})"
    )
    told = [w for w in ran if np.isfinite(w.estimate)]
    if told:
        ratio = np.array([w.estimate / w.exact for w in told])
        lines.append(
            f"mesh_error over the error of the mesh: {np.sum((ratio >= 0.7) & (ratio <= 3.0))} of {len(told)} within "
            f"0.7 to 3; from {ratio.min():.2f} to {ratio.max():.2f}, median {np.median(ratio):.2f}"
        )
    return "\n".join(lines)


def promise_kept(found: list[Judged]) -> bool:
    """Whether 99 of 100 walls keep the promise and none errs by more than 0.5 %."""
    good = sum(w.kept for w in found if not w.failure) >= SHARE * len(found)
    return good and all(w.humidity < NONE_ABOVE for w in found if not w.failure)
