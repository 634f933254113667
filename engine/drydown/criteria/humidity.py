"""Running means of the humidity: 30 days, 7 days and 24 hours."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

import numpy as np

from ..arrays import Array
from ..materials.model import Source
from .model import Criterion, Limit, Outcome, Severity, Terms, nothing, worst_layer
from .reading import Block, Wall
from .spots import faces
from .worst import Told, Worst


class RunningMean:
    """Trailing mean over exactly one window of a state that runs linearly between marks.

    A window that begins before the run or that holds a gap has no mean (NaN).

    Parameters
    ----------
    window : float
        [h].
    """

    def __init__(self, window: float) -> None:
        self.window = window
        self.hour: Array | None = None  # [mark] hours from the first mark
        self.state: Array  # [mark, column]
        self.total: Array  # [mark, column] integral from the first mark
        self.gap: Array  # [mark] end of the last gap so far, -inf if none

    def feed(self, hours: Array, whole: np.ndarray, state: Array) -> Array:
        """Return the means at the marks of a block but its first.

        Parameters
        ----------
        hours, whole : ndarray, shape (marks - 1,)
        state : ndarray, shape (marks, columns)
        """
        known = np.where(np.isfinite(state), state, 0.0)
        if self.hour is None:
            self.hour, self.state = np.zeros(1), known[:1]
            self.total, self.gap = np.zeros_like(known[:1]), np.array([-np.inf])
        held = len(self.hour)
        hour = np.concatenate([self.hour, self.hour[-1] + np.cumsum(hours)])
        added = np.cumsum(hours[:, None] * 0.5 * (known[1:] + known[:-1]), axis=0)
        total = np.concatenate([self.total, self.total[-1] + added])
        state = np.concatenate([self.state, known[1:]])
        ends = np.where(whole, -np.inf, hour[held:])
        gap = np.maximum.accumulate(np.concatenate([self.gap, ends]))
        begin = hour[held:] - self.window
        i = np.clip(np.searchsorted(hour, begin + 1e-9, side="right") - 1, 0, len(hour) - 2)
        length = hour[i + 1] - hour[i]
        part = np.clip((begin - hour[i]) / length, 0.0, 1.0)[:, None]
        # the state is linear in the interval, so its integral is a parabola
        within = length[:, None] * part * (state[i] + 0.5 * part * (state[i + 1] - state[i]))
        mean: Array = (total[held:] - total[i] - within) / self.window
        mean[(begin < hour[0] - 1e-6) | (gap[held:] > begin + 1e-6)] = np.nan
        # what no later window reaches is dropped; the first mark must stay where a window may still begin in it
        keep = max(0, int(np.searchsorted(hour, hour[-1] - self.window, side="right")) - 2)
        self.hour, self.state, self.total, self.gap = hour[keep:], state[keep:], total[keep:] - total[keep], gap[keep:]
        return mean


class _Running:
    def __init__(self, window: float, name: str, warm: bool, wall: Wall, limits: Mapping[str, float]) -> None:
        self.wall, self.limit, self.window = wall, limits[name], window
        self.low = limits.get("humidity_coldest", 273.15) - 273.15
        self.high = limits.get("humidity_warmest", 373.15) - 273.15
        self.warm = warm
        self.mean = RunningMean(window)
        spots = faces(wall)
        surface = spots.of(np.array([k not in ("air", "ground") for k in wall.kinds]))
        self.spots = spots.chosen(spots.sheltered & surface)
        n = len(self.spots.layer)
        self.worst = Worst(wall, self.spots, np.ones(n, dtype=bool))
        self.above = np.zeros(n)

    def start(self) -> Array:
        return np.full(len(self.above), np.nan)

    def feed(self, block: Block) -> Array:
        n = len(self.above)
        state = self.spots.humidity(block)
        if self.warm:
            state = np.concatenate([state, self.spots.temperature(block)], axis=1)
        mean = self.mean.feed(block.hours, block.whole, state)
        humidity = mean[:, :n]
        counted = humidity
        if self.warm:
            warm = (mean[:, n:] >= self.low) & (mean[:, n:] <= self.high)
            counted = np.where(warm, humidity, np.nan)
        self.worst.see(block.time[1:], counted)
        with np.errstate(invalid="ignore"):
            self.above += np.sum(np.where(counted >= self.limit, block.hours[:, None], 0.0), axis=0)
        return humidity

    def outcome(self) -> Outcome:
        if not self.worst.any:
            return nothing("short", self.limit)

        def told(i: int, value: float) -> Told:
            over = value >= self.limit
            facts = {"days": (float(self.above[i]) / 24.0, "d")}
            return "exceeded" if over else "fine", "over" if over else "below", facts

        return worst_layer(self.worst.by_layer(self.limit, told))


def _criterion(window: float, days: str, name: str, limit: float, source: Source, warm: bool) -> Criterion:
    limits = [Limit(name, limit, "humidity", f"relative humidity that the mean of {days} must stay below", source)]
    if warm:
        limits += [
            Limit("humidity_coldest", 278.15, "temperature", "mean of 30 days from which the limit counts", source),
            Limit("humidity_warmest", 313.15, "temperature", "mean of 30 days up to which the limit counts", source),
        ]
    return Criterion(
        f"humidity {days}",
        f"mean humidity of {days}",
        "fraction",
        partial(_Running, window, name, warm),
        tuple(limits),
        source,
        "surfaces out of rain and sun; a strict limit that later editions replaced by the mould index",
        terms=Terms(
            harm=f"the mean humidity of {days} is higher than an early rule allows",
            short="humid",
            what=f"the mean humidity of {days}",
            cases={
                "short": "The run is shorter than the window, or never in the range of temperatures",
                "below": f"The mean humidity of {days} reaches {{value}} at {{place}}, on {{when}}",
                "over": f"The mean humidity of {days} reaches {{value}} at {{place}}, on {{when}}; {{limit}} or more "
                "on {days}",
            },
        ),
        severity=Severity.LOOK,
        screening=True,
    )


_MEASURED = Source(
    "ANSI/ASHRAE 160", 2009, "30-day criterion, as quoted in ASTM STP1599 paper 20160106", "common practice"
)
_MEMORY = Source("ANSI/ASHRAE 160", 2009, "7-day and 24-hour criteria, withdrawn in 2011", "from memory")
RUNNING_MEANS = (
    _criterion(720.0, "30 days", "humidity_30_days", 0.80, _MEASURED, True),
    _criterion(168.0, "7 days", "humidity_7_days", 0.98, _MEMORY, False),
    _criterion(24.0, "24 hours", "humidity_24_hours", 0.9999, _MEMORY, False),
)
