"""One climate as one figure: the year of the air, precipitation, sun on the walls, rose of driving rain.

Colours and line styles are those of `drydown.figures`; every line has its name at its end.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ..arrays import Array
from ..climate.model import HOUR, Climate, dew_point
from ..moist_air import saturation_pressure_iso13788
from ..text import plain
from .style import DASHED, DOTTED, GREY, INDIGO, INK, SOFT, SOLID, WINE, spread

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MONTHS = "JFMAMJJASOND"
POINTS = "N NNE NE ENE E ESE SE SSE S SSW SW WSW W WNW NW NNW".split()
#: First day of each month and length of the year on the axis of days.
_STARTS = np.cumsum([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30])
_HEAD: dict[str, Any] = {"loc": "left", "fontsize": 10.5, "color": INK}


def climate_figure(climate: Climate, azimuth: float | None = None, tilt: float = 90.0) -> Figure:
    """Draw a climate.

    Parameters
    ----------
    climate : Climate
    azimuth : float, optional
        Direction a surface of interest faces [degree], clockwise from north; it is drawn in front.
    tilt : float
        Of that surface [degree]: 90 a wall, 0 a flat roof.

    Returns
    -------
    matplotlib.figure.Figure
        Above, temperature and dew point through the year. Below, precipitation, sun on walls and roof, and
        driving rain on a wall by the direction it faces. A panel whose columns are unavailable says so.
    """
    from matplotlib.figure import Figure

    figure = Figure(figsize=(10.2, 7.4))
    above = figure.add_gridspec(1, 1, left=0.06, right=0.885, top=0.85, bottom=0.51)
    below = figure.add_gridspec(1, 3, left=0.06, right=0.965, top=0.39, bottom=0.09, wspace=0.4)
    year = figure.add_subplot(above[0])
    wet, sun = figure.add_subplot(below[0]), figure.add_subplot(below[1])
    rose = figure.add_subplot(below[2], projection="polar")
    _air(year, climate)
    _precipitation(wet, climate)
    _sun(sun, climate, azimuth, tilt)
    _rose(rose, climate, azimuth, tilt)
    for axes in (year, wet, sun):
        axes.spines[["top", "right"]].set_visible(False)
        axes.tick_params(labelsize=9.5, color=INK)
    figure.suptitle(climate.name, x=0.06, y=0.975, ha="left", va="top", fontsize=15, color=INK)
    figure.text(0.06, 0.925, about(climate), fontsize=9.5, color=GREY, va="top")
    return figure


def about(climate: Climate) -> str:
    """Return place, period and origin of a climate in one line."""
    north = f"{plain(abs(climate.latitude))}° {'N' if climate.latitude >= 0 else 'S'}"
    east = f"{plain(abs(climate.longitude))}° {'E' if climate.longitude >= 0 else 'W'}"
    first, last = (int(str(t)[:4]) for t in (climate.start, climate.end - HOUR))
    years = str(first) if first == last else f"{first} to {last}"
    origin = "synthetic, an invented place" if climate.synthetic else climate.source
    return f"{north}, {east}, {plain(climate.altitude)} m · {years} · {origin}"


def _day(climate: Climate) -> np.ndarray:
    """Day of the year of each hour, 0 to 364; 29 February counts as 28 February."""
    begin = climate.time - HOUR
    month = begin.astype("datetime64[M]")
    day = (begin.astype("datetime64[D]") - month.astype("datetime64[D]")).astype(int)
    of_year = month.astype(int) % 12
    found: np.ndarray = _STARTS[of_year] + np.where((of_year == 1) & (day == 28), 27, day)
    return found


def _month(climate: Climate) -> np.ndarray:
    return (climate.time - HOUR).astype("datetime64[M]").astype(int) % 12


def _air(axes: Axes, climate: Climate) -> None:
    t = climate.temperature - 273.15
    dew = dew_point(climate.humidity * saturation_pressure_iso13788(climate.temperature)) - 273.15
    day = _day(climate)
    centres = np.arange(0, 365, 3)
    low, high, mean, damp = (np.full(len(centres), np.nan) for _ in range(4))
    for k, d in enumerate(centres):
        near = np.abs((day - d + 182) % 365 - 182) <= 7
        if not near.any():
            continue
        low[k], high[k] = np.percentile(t[near], [5.0, 95.0])
        mean[k], damp[k] = t[near].mean(), dew[near].mean()
    axes.fill_between(centres, low, high, color=WINE, alpha=0.13, linewidth=0)
    axes.plot(centres, mean, color=WINE, linestyle=SOLID, linewidth=1.9)
    axes.plot(centres, damp, color=INDIGO, linestyle=DASHED, linewidth=1.9)
    axes.axhline(0.0, color=INK, linewidth=0.6)
    axes.set_title("Air through the year [°C], means of 15 days; band: 90 % of the hours", **_HEAD)
    axes.set_xlim(0, 364)
    axes.set_xticks(_STARTS, [])
    axes.set_xticks(_STARTS + 15, list(MONTHS), minor=True)
    axes.tick_params(axis="x", which="minor", length=0, labelsize=9.5)
    axes.margins(y=0.06)
    _name_ends(axes, [("temperature", _last(mean), WINE), ("dew point", _last(damp), INDIGO)])


def _precipitation(axes: Axes, climate: Climate) -> None:
    axes.set_title("Rain and snow [mm a month]", **_HEAD)
    if climate.rain is None:
        _unavailable(axes, "rain")
        return
    frost = climate.temperature <= 273.15
    rain = _monthly_sum(np.where(frost, 0.0, climate.rain), climate)
    snow = _monthly_sum(np.where(frost, climate.rain, 0.0), climate)
    x = np.arange(12)
    axes.bar(x, rain, 0.78, color=INDIGO)
    axes.bar(x, snow, 0.78, bottom=rain, facecolor="white", edgecolor=INDIGO, hatch="....", linewidth=0.8)
    axes.set_xticks(x, list(MONTHS))
    axes.tick_params(axis="x", length=0)
    axes.set_ylim(0.0, 1.22 * max(float(np.nanmax(rain + snow)), 1.0))
    words = "no whole year" if np.isnan(rain).any() else f"{plain((rain + snow).sum())} a year"
    if snow.sum() >= 0.5:
        words += f", {plain(snow.sum(), 2)} as snow (dotted)"
    axes.text(0.02, 0.985, words, transform=axes.transAxes, va="top", fontsize=9.5, color=INK)


def _sun(axes: Axes, climate: Climate, azimuth: float | None, tilt: float) -> None:
    from ..climate.solar import plane_irradiance

    axes.set_title("Sun on walls and roof [kWh/m² a day]", **_HEAD)
    beam, diffuse, level = climate.direct_normal, climate.diffuse_horizontal, climate.global_horizontal
    if level is None and (beam is None or diffuse is None):
        _unavailable(axes, "sun")
        return

    def on(azimuth: float, tilt: float) -> Array:
        total, _ = plane_irradiance(
            climate.time, climate, beam, diffuse, level, azimuth=azimuth, tilt=tilt, ground_reflectance=0.2
        )
        month = _month(climate)
        return np.array([total[month == m].mean() if (month == m).any() else np.nan for m in range(12)]) * 0.024

    lines = [
        ("flat roof", on(0.0, 0.0), SOFT, SOLID),
        ("south", on(180.0, 90.0), WINE, SOLID),
        ("east, west", 0.5 * (on(90.0, 90.0) + on(270.0, 90.0)), INK, DOTTED),
        ("north", on(0.0, 90.0), INDIGO, DASHED),
    ]
    if azimuth is not None:
        # The surface of interest stands out: red and thick, the others behind it.
        same = {(180.0, 90.0): "south", (0.0, 90.0): "north"}.get((azimuth % 360.0, tilt))
        others = [line for line in lines if line[0] != same]
        lines = [(name, v, SOFT, DASHED) if c == WINE else (name, v, c, s) for name, v, c, s in others]
        lines.append((_surface(azimuth, tilt), on(azimuth, tilt), WINE, SOLID))
    for _, values, colour, style in lines:
        width = 2.8 if azimuth is not None and colour == WINE else 1.9
        axes.plot(np.arange(12), values, color=colour, linestyle=style, linewidth=width)
    axes.set_xticks(np.arange(12), list(MONTHS))
    axes.tick_params(axis="x", length=0)
    axes.set_xlim(-0.3, 11.2)
    axes.set_ylim(0.0, None)
    _name_ends(axes, [(name, _last(values), GREY if c == SOFT else c) for name, values, c, _ in lines])


def _surface(azimuth: float, tilt: float) -> str:
    """Return a surface in short: 'facing N', or 'N, tilt 30°'."""
    point = POINTS[round(azimuth / 22.5) % 16] if azimuth % 22.5 == 0.0 else f"{plain(azimuth)}°"
    return f"facing {point}" if tilt == 90.0 else f"{point}, tilt {plain(tilt)}°"


def _rose(axes: Any, climate: Climate, azimuth: float | None, tilt: float) -> None:
    from ..climate.driving_rain import OpenField

    box = axes.get_position()
    axes.figure.text(box.x0, 0.4015, "Driving rain [kg/m² a year]", fontsize=10.5, color=INK)
    axes.set_position((box.x0, box.y0 - 0.01, box.width, box.height - 0.02))
    axes.set_theta_zero_location("N")
    axes.set_theta_direction(-1)
    axes.set_xticks(np.radians([0, 90, 180, 270]), ["N", "E", "S", "W"])
    axes.tick_params(labelsize=9.5, pad=0)
    axes.spines["polar"].set_visible(False)
    axes.grid(color="#cccccc", linewidth=0.6)
    missing = [
        word
        for word, x in (
            ("rain", climate.rain),
            ("wind", climate.wind_speed),
            ("direction", climate.wind_direction),
        )
        if x is None
    ]
    if climate.rain is None or climate.wind_speed is None or climate.wind_direction is None:
        axes.set_yticks([])
        _unavailable(axes, " and ".join(missing))
        return
    if len(np.unique(_month(climate))) < 12:
        axes.set_yticks([])
        _unavailable(axes, "whole year")
        return
    liquid = np.where(climate.temperature > 273.15, climate.rain, 0.0)
    facing = np.arange(0.0, 360.0, 22.5)
    model = OpenField(1.0, 1.0)

    def on(a: float, tilt: float) -> float:
        wet = model.on_surface(liquid, climate.wind_speed, climate.wind_direction, a, tilt)  # type: ignore[arg-type]
        return float(wet.mean() * 8766.0)

    wall = np.array([on(a, 90.0) for a in facing])
    worst = int(wall.argmax())
    words = f"most facing {POINTS[worst]}, {plain(wall[worst])}; open field"
    colours = [WINE if k == worst and azimuth is None else INDIGO for k in range(len(facing))]
    axes.bar(np.radians(facing), wall, np.radians(19.0), color=colours, linewidth=0)
    if azimuth is not None:
        if tilt == 90.0:
            axes.bar(np.radians(azimuth), on(azimuth, tilt), np.radians(19.0), color=WINE, linewidth=0)
        falling = "" if tilt == 90.0 else " with falling rain"
        words = f"{_surface(azimuth, tilt)}: {plain(on(azimuth, tilt))}{falling}; {words}"
    top = max(float(wall.max()), 1.0)
    axes.set_ylim(0.0, 1.08 * top)
    step = next(s * 10.0**e for e in range(-1, 5) for s in (1.0, 2.0, 5.0) if s * 10.0**e >= top / 3.0)
    rings = np.arange(step, 1.001 * top, step)
    axes.set_yticks(rings, [plain(r) for r in rings])
    axes.set_rlabel_position((facing[int(wall.argmin())] // 90.0) * 90.0 + 45.0)
    axes.set_axisbelow(True)
    axes.text(
        0.5,
        -0.11,
        words.replace("; most", "\nmost"),
        transform=axes.transAxes,
        ha="center",
        va="top",
        fontsize=9.5,
        color=WINE,
    )


def _monthly_sum(values: Array, climate: Climate) -> Array:
    """Return the mean sum of each calendar month of its usual length; NaN where the climate has none."""
    month = _month(climate)
    hours = np.diff(np.append(_STARTS, 365.25)) * 24.0
    mean = np.array([values[month == m].mean() if (month == m).any() else np.nan for m in range(12)])
    return mean * hours


def _last(values: Array) -> float:
    return float(values[np.isfinite(values)][-1])


def _unavailable(axes: Axes, what: str) -> None:
    axes.set_xticks([])
    axes.set_yticks([])
    axes.text(
        0.5,
        0.5,
        f"{what} unavailable\nin this weather",
        transform=axes.transAxes,
        ha="center",
        va="center",
        fontsize=9.5,
        color=GREY,
    )


def _name_ends(axes: Axes, names: list[tuple[str, float, str]]) -> None:
    """Write names right of the axes where their lines end, moved apart where they would meet."""
    low, high = axes.get_ylim()
    box = axes.get_window_extent().height * 72.0 / axes.get_figure().dpi  # type: ignore[union-attr]
    at = [(value - low) / (high - low) for _, value, _ in names]
    for (name, _, colour), here in zip(names, spread(at, [12.0 / box] * len(at)), strict=True):
        axes.annotate(
            name,
            (1.0, here),
            (4, 0),
            xycoords="axes fraction",
            textcoords="offset points",
            va="center",
            fontsize=9.5,
            color=colour,
            annotation_clip=False,
        )
