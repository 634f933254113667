"""A timber-frame wall in Tampere that was logged for a winter and a spring, predicted blind.

The data are not ours to ship: building R1, structure US1 of the TRH-database (public repository
``anssilaukkarinen/trh-1``, CC BY 4.0), files renamed as in `FILES`, columns time (UTC+2), temperature [degC] and
relative humidity [%] over liquid water, every ten minutes.

The wall faces north; from inside: painted gypsum board, polyethylene, glass wool 100 mm between studs, wind-barrier
board of mineral wool 50 mm, a ventilated gap, brick veneer. The air of the gap and of the room were logged; they are
the two sides of the run. Predicted is the place between wool and board in the middle of a bay. Nothing is fitted:
every layer is the library's entry of its kind; thickness of board and sheet are usual ones (common practice).
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import numpy as np
from drydown import Assembly, Case, InputError, Layer, simulate
from drydown.case.case import Initial
from drydown.case.sides import Physics
from drydown.moist_air import saturation_pressure_water
from drydown.plugins import film, material
from drydown.sides.indoor import Indoor
from drydown.sides.indoor_measured import Measured
from numpy.typing import NDArray

Array = NDArray[np.float64]

#: What is read of the folder: the two sides, and what is predicted.
FILES = {"outside": "cavity_air.csv", "inside": "indoor_air.csv", "interface": "insulation_board_interface.csv"}
#: The loggers warm up until here; the run begins.
BEGIN = np.datetime64("2020-12-20T00:00", "s")
#: What the start brings has passed, and the comparison begins.
FROM = np.datetime64("2020-12-31T00:00", "s")
#: Promised of a blind prediction, root mean square over the hours: relative humidity [%], temperature [K].
HUMIDITY, TEMPERATURE = 2.5, 1.0
BOARD, WOOL = 0.05, 0.10


class Errors(NamedTuple):
    """Predicted less measured: mean and root mean square, of humidity [%], temperature [K], vapour pressure [Pa]."""

    hours: int
    humidity: tuple[float, float]
    temperature: tuple[float, float]
    vapour_pressure: tuple[float, float]


class Predicted(NamedTuple):
    """Hours, and at each what was logged and what is predicted: temperature [degC], relative humidity [%]."""

    time: np.ndarray
    measured: Array  # [hour, 2]
    predicted: Array  # [hour, 2]
    deeper: Array  # [hour, 2] the same 6 mm further in

    def errors(self, chosen: np.ndarray | slice = slice(None), deeper: bool = False) -> Errors:
        """Return the errors over some of the hours."""
        a, b = (self.deeper if deeper else self.predicted)[chosen], self.measured[chosen]
        known = np.isfinite(b).all(axis=1)
        a, b = a[known], b[known]
        p = [0.01 * x[:, 1] * saturation_pressure_water(x[:, 0] + 273.15) for x in (a, b)]
        pairs = (a[:, 1] - b[:, 1], a[:, 0] - b[:, 0], p[0] - p[1])
        return Errors(len(a), *((float(d.mean()), float(np.sqrt(np.mean(d**2)))) for d in pairs))


def read(folder: Path, name: str) -> Measured:
    """Return one logger as hourly means.

    Raises
    ------
    InputError
        If the folder lacks the file, or it is not as described.
    """
    import pandas as pd

    path = folder / FILES[name]
    if not path.is_file():
        raise InputError(
            f"there is no {FILES[name]} in it; the data of the wall are {', '.join(FILES.values())}", str(folder)
        )
    table = pd.read_csv(path)
    if list(table.columns) != ["t_UTC+2", "T", "RH"]:
        raise InputError(f"its columns are {', '.join(table.columns)}; t_UTC+2, T, RH were expected", str(path))
    time = pd.to_datetime(table["t_UTC+2"])
    # instants: the mean of an hour is that of the readings in it, its end on the hour
    hourly = table[["T", "RH"]].set_index(time).resample("1h", closed="right", label="right").mean()
    hourly = hourly[hourly.index > pd.Timestamp(BEGIN)]
    hourly.columns = ["temperature", "humidity"]
    return Measured.from_dataframe(
        hourly, name=name, units={"temperature": "degC", "humidity": "%"}, source=f"logger, {path.name}"
    )


def wall(wool: str = "glass wool 20", board: str = "mineral wool board") -> Assembly:
    """Return the layers from the gap to the room, as the library has them."""
    return Assembly(
        (
            Layer(material(board), BOARD, "wind-barrier board"),
            Layer(material(wool), WOOL, "glass wool"),
            film("polyethylene 0.2 mm"),
            Layer(material("gypsum board"), 0.0125),
            film("latex paint"),
        )
    )


def case_of(folder: Path, layers: Assembly | None = None) -> tuple[Case, Measured]:
    """Return the case between the two logged sides, nothing fitted, and the log of the place that is predicted."""
    sides = {name: read(folder, name) for name in ("outside", "inside")}
    place = read(folder, "interface")
    end = min(*(s.record.end for s in sides.values()), place.record.end).astype("datetime64[D]").astype("datetime64[s]")
    begin = max(*(s.record.start for s in sides.values()), BEGIN)
    first = sides["outside"].record
    case = Case(
        wall() if layers is None else layers,
        Indoor(sides["outside"]),
        Indoor(sides["inside"]),
        begin,
        end,
        initial=Initial(float(first.temperature[0]), float(first.humidity[0])),
        name="the measured wall, blind",
    )
    return case, place


def logged(place: Measured, hours: np.ndarray) -> Array:
    """Return what the logger of the place read at hours: temperature [degC], relative humidity [%]."""
    h = place.record.at_marks(hours)
    return _over_water(h.temperature, h.humidity * Physics().saturation_pressure(h.temperature))


def predict(folder: Path, layers: Assembly | None = None) -> Predicted:
    """Return what the engine says of the place between wool and board, beside what was logged there.

    Parameters
    ----------
    folder : Path
        Where the data are; only the two sides enter the run.
    layers : Assembly, optional
        In place of `wall()`.
    """
    case, place = case_of(folder, layers)
    results = simulate(case)
    hours = results["time"].values.astype("datetime64[s]")
    rows = hours >= FROM
    measured = logged(place, hours[rows])
    x, t = results["x"].values, results["temperature"].values[rows]
    p = results["relative_humidity"].values[rows] * Physics().saturation_pressure(t)

    def at(depth: float) -> Array:
        here = [np.array([np.interp(depth, x, row) for row in field]) for field in (t, p)]
        return _over_water(*here)

    return Predicted(hours[rows], measured, at(BOARD), at(BOARD + 0.006))


def _over_water(temperature: Array, vapour_pressure: Array) -> Array:
    """Return temperature [degC] and relative humidity over liquid water [%], below 0 degC too, as loggers give it."""
    humidity = 100.0 * vapour_pressure / saturation_pressure_water(temperature)
    return np.stack([temperature - 273.15, humidity], axis=1)


def table(found: Predicted, others: dict[str, Predicted] | None = None) -> tuple[str, bool]:
    """Return the errors as lines, and whether the promise of a blind prediction is kept.

    Parameters
    ----------
    found : Predicted
    others : dict of str to Predicted, optional
        The same with other entries of the library, by their name: how much hangs on the choice.
    """
    half = len(found.time) // 2
    months = found.time.astype("datetime64[M]")
    rows = [
        ("all", found.errors()),
        ("first half", found.errors(slice(half))),
        ("second half", found.errors(slice(half, None))),
    ]
    rows += [(str(m), found.errors(months == m)) for m in np.unique(months) if (months == m).sum() > 48]
    rows.append(("all, 6 mm further in", found.errors(deeper=True)))
    rows += [(f"all, {name}", other.errors()) for name, other in (others or {}).items()]
    lines = [
        "Between glass wool and wind-barrier board, mid-bay; nothing fitted, predicted less measured, mean and rms",
        f"{'':34s} hours    RH [%]           T [K]            vapour pressure [Pa]",
    ]
    for name, e in rows:
        pairs = "".join(f"{a:+7.2f} {b:6.2f}   " for a, b in (e.humidity, e.temperature))
        lines.append(f"{name:34s} {e.hours:5d} {pairs}{e.vapour_pressure[0]:+7.1f} {e.vapour_pressure[1]:6.1f}")
    whole = rows[0][1]
    kept = whole.humidity[1] <= HUMIDITY and whole.temperature[1] <= TEMPERATURE
    lines.append(f"promised: {HUMIDITY} % and {TEMPERATURE} K rms: {'kept' if kept else 'not kept'}")
    return "\n".join(lines), kept


#: Other entries for wool and board that the description of the wall allows.
OTHERS = {
    "both mineral wool": ("mineral wool", "mineral wool"),
    "glass wool 45": ("glass wool 45", "mineral wool board"),
}


def draw(found: Predicted, path: Path) -> None:
    """Draw what was logged and what is predicted, day by day."""
    from matplotlib.dates import ConciseDateFormatter, MonthLocator
    from matplotlib.figure import Figure

    figure = Figure(figsize=(9, 5), layout="constrained")
    axes = figure.subplots(2, 1, sharex=True)
    days = len(found.time) // 24
    time = found.time[: 24 * days].reshape(days, 24)[:, 12]
    for axis, column, words in ((axes[0], 0, "temperature [degC]"), (axes[1], 1, "relative humidity [%]")):
        for values, label, style in (
            (found.measured, "logged", {"color": "black", "lw": 1.0}),
            (found.predicted, "predicted, nothing fitted", {"color": "#b5552b", "lw": 1.6}),
        ):
            axis.plot(time, values[: 24 * days, column].reshape(days, 24).mean(axis=1), label=label, **style)
        axis.set_ylabel(words)
        axis.grid(alpha=0.3)
    axes[0].legend(frameon=False)
    axes[1].xaxis.set_major_locator(MonthLocator())
    axes[1].xaxis.set_major_formatter(ConciseDateFormatter(MonthLocator()))
    figure.savefig(path, dpi=130)


def measured(
    folder: Path, out: Path | None = None, progress: Callable[[float], None] | None = None
) -> tuple[str, bool]:
    """Predict the wall whose data are in a folder; return the table and whether the promise is kept.

    Parameters
    ----------
    folder : Path
    out : Path, optional
        A folder for a figure of the daily means, `measured-wall.png`.
    progress : callable, optional

    Raises
    ------
    InputError
        If the data are not there, or not as described.
    """
    tell = progress or (lambda done: None)
    found = predict(folder)
    others = {}
    for k, (name, entries) in enumerate(OTHERS.items(), start=1):
        tell(k / (len(OTHERS) + 1))
        others[name] = predict(folder, wall(*entries))
    if out is not None:
        out.mkdir(parents=True, exist_ok=True)
        draw(found, out / "measured-wall.png")
    return table(found, others)
