"""The logged wall of `measured_wall`, fitted to the first half of its log and predicted over the second.

Nothing of the second half enters the fit: neither the inputs nor the noise. What is free is what the description of the
wall leaves open: how well both insulations conduct, hold and pass vapour, how tight the sheet is, how much air of the
room gets past it, where the probe stands and what it reads too much. Priors are usual widths (common practice).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

import numpy as np
from drydown.case.case import Case
from drydown.case.loads import AirLeak
from drydown.inverse.fitting import Fit, Predicted, fit, predicted
from drydown.inverse.free import Free, free
from drydown.inverse.logs import Log
from drydown.inverse.sensors import Sensor
from numpy.typing import NDArray

from .measured_wall import FROM, case_of, logged

Array = NDArray[np.float64]

#: Promised of the second half: root mean square of relative humidity [-] and temperature [K], and between which shares
#: of its hours bands of nine in ten lie.
HUMIDITY, TEMPERATURE = 0.015, 0.3
HELD = (0.80, 0.97)
#: An input that the fit took further than this many standard deviations of its prior stands for something else.
FAR = 2.5


class Half(NamedTuple):
    """Errors over one half: mean, root mean square, share of the hours in the band."""

    mean: float
    rms: float
    held: float


def inputs(case: Case) -> list[Free]:
    """Return what is free in the wall."""

    def of(path: str, factor: float) -> Free:
        return free(case, path, factor=factor)

    def about_zero(path: str, edge: float) -> Free:
        return free(case, path, transform="linear", within=(-edge, edge))

    layers = ("glass wool", "wind-barrier board")
    return [
        *(of(f"layer.{name}.conductivity_factor", 1.1) for name in layers),
        *(of(f"layer.{name}.storage_factor", 2.0) for name in layers),
        *(of(f"layer.{name}.permeability_factor", 1.5) for name in layers),
        of('layer."polyethylene 0.2 mm".permeance_factor', 10.0),
        of("air_leak.1.q50", 5.0),
        about_zero("sensor.probe.depth", 0.010),
        about_zero("sensor.temperature.offset", 0.3),
        about_zero("sensor.humidity.offset", 0.02),
    ]


def leaky(case: Case) -> Case:
    """Return the case with a leak of usual size (q50 of 1 m3/(m2 h)), whose true size is to be found."""
    leak = AirLeak.from_keys({"way": "flow", "q50": 1.0 / 3600.0}, case.assembly, case.outside)
    return replace(case, loads=(leak,), name="the measured wall, fitted")


def logs_of(folder: Path) -> tuple[Case, list[Log]]:
    """Return the case with what is free in it, and the two logs of the place."""
    case, place = case_of(folder)
    hours = np.arange(FROM, case.end, np.timedelta64(3600, "s"))
    read = logged(place, hours)
    known = np.isfinite(read).all(axis=1)
    time, read = hours[known], read[known]
    sensors = (
        Sensor("temperature", "temperature", "glass wool", "outer", logger="probe"),
        Sensor("humidity", "relative_humidity", "glass wool", "outer", logger="probe"),
    )
    return leaky(case), [Log(sensors[0], time, read[:, 0] + 273.15), Log(sensors[1], time, 0.01 * read[:, 1])]


def halves(logs: Sequence[Log]) -> tuple[list[Log], list[Log]]:
    """Return the first and the second half of the logs, by time."""
    first, last = logs[0].time[0], logs[0].time[-1] + np.timedelta64(1, "s")
    middle = first + (last - first) // 2
    return [x.between(first, middle) for x in logs], [x.between(middle, last) for x in logs]


def errors(log: Log, said: Predicted) -> Half:
    """Return predicted less logged."""
    off = said.value - log.value
    inside = np.abs(off) < said.edge
    return Half(float(off.mean()), float(np.sqrt(np.mean(off**2))), float(inside.mean()))


def fitted(folder: Path, out: Path | None = None, progress: Callable[[float], None] | None = None) -> tuple[str, bool]:
    """Fit the wall to the first half and predict the second; return the table and whether the promise is kept.

    Parameters
    ----------
    folder : Path
    out : Path, optional
        A folder for a figure, `measured-wall-fitted.png`.
    progress : callable, optional

    Raises
    ------
    InputError
        If the data are not there, or not as described.
    """
    case, logs = logs_of(folder)
    before, after = halves(logs)
    done = [0]

    def tell(_: str) -> None:
        done[0] += 1
        if progress is not None:
            progress(1.0 - 0.85 ** done[0])

    found = fit(case, inputs(case), before, progress=tell)
    said = [predicted(found, logs=half) for half in (before, after)]
    rows = [
        [errors(log, p) for log, p in zip(half, s, strict=True)] for half, s in zip((before, after), said, strict=True)
    ]
    if out is not None:
        out.mkdir(parents=True, exist_ok=True)
        draw(logs, predicted(found, logs=logs), after[0].time[0], out / "measured-wall-fitted.png")
    return table(found, rows)


def table(found: Fit, rows: list[list[Half]]) -> tuple[str, bool]:
    """Return the errors and what was learned as lines, and whether the promise is kept."""
    lines = [
        "The same, fitted to the first half and predicted over the second; predicted less measured",
        f"{'':14s} RH [%] mean    rms  in band   T [K] mean    rms  in band",
    ]
    for name, (warm, damp) in zip(("first half", "second half"), rows, strict=True):
        lines.append(
            f"{name:14s} {100 * damp.mean:+11.2f} {100 * damp.rms:6.2f} {damp.held:8.0%}"
            f"   {warm.mean:+10.2f} {warm.rms:6.2f} {warm.held:8.0%}"
        )
    lines.append(
        "left over, nine in ten lie within "
        + ", ".join(f"{x.sensor.name} {reach:.2f}" for x, reach in zip(found.logs, found.reach, strict=True))
        + " root mean squares (1.645 where it is normal): so far the bands reach"
    )
    lines.append(f"{'input':52s} {'before':>9s} {'after':>9s}   nine in ten between        sd of its prior")
    for j, x in enumerate(found.free):
        low, high = found.interval(j)
        z = float(found.z[j])
        said = "not learned" if x.name in found.not_learned else f"{z:+.1f}"
        said += ", stands for something else" if abs(z) > FAR else ""
        lines.append(f"{x.name:52s} {x.median:9.3g} {x.value(z):9.3g}   {low:9.3g} {high:9.3g}   {said:>12s}")
    warm, damp = rows[1]
    kept = damp.rms <= HUMIDITY and warm.rms <= TEMPERATURE and all(HELD[0] <= x.held <= HELD[1] for x in rows[1])
    lines.append(
        f"promised of the second half: {100 * HUMIDITY} % and {TEMPERATURE} K rms, "
        f"{HELD[0]:.0%} to {HELD[1]:.0%} of the hours in their bands: {'kept' if kept else 'not kept'}"
    )
    return "\n".join(lines), kept


def draw(logs: Sequence[Log], said: Sequence[Predicted], middle: np.datetime64, path: Path) -> None:
    """Draw what was logged and what the fitted wall reads, hour by hour, with its bands."""
    from matplotlib.dates import ConciseDateFormatter, MonthLocator
    from matplotlib.figure import Figure

    figure = Figure(figsize=(9, 5), layout="constrained")
    axes = figure.subplots(2, 1, sharex=True)
    for axis, log, p, (scale, less), words in zip(
        axes, logs, said, ((1.0, 273.15), (100.0, 0.0)), ("temperature [degC]", "relative humidity [%]"), strict=True
    ):
        value, edge = scale * p.value - less, scale * p.edge
        axis.fill_between(p.time, value - edge, value + edge, color="#e8c9b5", lw=0, label="nine in ten")
        axis.plot(p.time, value, color="#b5552b", lw=0.8, label="fitted to the left of the line")
        axis.plot(log.time, scale * log.value - less, color="black", lw=0.6, label="logged")
        axis.axvline(middle, color="gray", lw=1.0)
        axis.set_ylabel(words)
        axis.grid(alpha=0.3)
    axes[0].legend(frameon=False, loc="upper left")
    axes[1].xaxis.set_major_locator(MonthLocator())
    axes[1].xaxis.set_major_formatter(ConciseDateFormatter(MonthLocator()))
    figure.savefig(path, dpi=130)
