"""Figures of the bench: tests and curve with its band, the map, the sensitivity. Each returns a Figure.

Colours as in `drydown.figures`; maps in cividis, which is even in grey, with the value written in each field.
"""

from __future__ import annotations

import math
import textwrap
from typing import TYPE_CHECKING, Any

import numpy as np

from ..errors import InputError
from ..figures import DASHED, DOTTED, GREY, INDIGO, INK, SOFT, WINE
from ..quantities import PERM, convert, unit_label
from ..text import plain

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from .cup import CupTest
    from .directions import DirectionalFit
    from .fitting import Fit

_NG = 1e-12
#: What 10 % more permeance does, in per cent of a relative change.
_TENTH = 100.0 * math.log(1.1)
_BAND = "#dcd9ec"
#: Parameters of a curve as they are written on an axis: words and quantity.
_AXES = {
    "closed": ("permeance when closed", "permeance"),
    "open": ("permeance when open", "permeance"),
    "dry": ("permeance when dry", "permeance"),
    "rise": ("rise of the permeance", "permeance"),
    "value": ("permeance", "permeance"),
    "middle": ("humidity at which it opens", "humidity"),
    "start": ("humidity at which it begins to open", "humidity"),
    "end": ("humidity at which it is open", "humidity"),
    "width": ("width of the change in humidity", "humidity"),
}


def fit_figure(fit: Fit, name: str = "") -> Figure:
    """Draw cup tests, the curve fitted to them and its simultaneous 95 % band.

    Parameters
    ----------
    fit : Fit
    name : str
        What the membrane is called.
    """
    from matplotlib.figure import Figure
    from matplotlib.ticker import FuncFormatter

    figure = Figure(figsize=(7.6, 6.8))
    above, below = figure.subplots(2, 1, sharex=True, height_ratios=(4.0, 1.0))
    low, high = fit.covered
    title = (
        f"Local permeance, {fit.family} curve through {len(fit.tests)} cup tests by the integral; the whole curve "
        f"lies in the band with 95 % ({fit.method})"
    )
    _head(figure, name or "membrane", title, 80)
    figure.subplots_adjust(left=0.115, right=0.88, top=0.85, bottom=0.085, hspace=0.14)
    phi = np.linspace(0.0, 1.0, 201)
    inside = (phi >= low - 1e-9) & (phi <= high + 1e-9)
    edges = fit.band(phi)
    p = np.asarray(fit.curve(phi))
    above.fill_between(100 * phi, *(e / _NG for e in edges), where=inside, color=_BAND, linewidth=0)
    if not np.all(inside):
        for e in edges:
            above.plot(100 * phi, np.where(inside, np.nan, e / _NG), color=SOFT, linewidth=0.9, linestyle=DOTTED)
    above.plot(100 * phi, np.where(inside, p, np.nan) / _NG, color=INDIGO, linewidth=2.2)
    above.plot(100 * phi, np.where(inside, np.nan, p) / _NG, color=INDIGO, linewidth=1.4, linestyle=DASHED)
    for test, measured, modelled in zip(fit.tests, fit.measured, fit.modelled, strict=True):
        a, b, y = _over_film(test, measured)
        a, b, y = 100 * a, 100 * b, y / _NG
        assert test.uncertainty is not None
        reach = 2.0 * test.uncertainty
        marks: dict[str, Any] = {"color": WINE, "linewidth": 1.6, "marker": "|", "markersize": 7}
        point: dict[str, Any] = {"color": WINE, "linewidth": 1.0, "capsize": 2.5, "marker": "o", "markersize": 4.5}
        above.plot([a, b], [y, y], **marks)
        above.errorbar(0.5 * (a + b), y, [[-y * math.expm1(-reach)], [y * math.expm1(reach)]], **point)
        off = 100.0 * math.log(measured / modelled)
        below.plot([a, b], [off, off], **marks)
        below.errorbar(0.5 * (a + b), off, 100.0 * reach, **point)
    above.set_yscale("log")
    seen = [*fit.measured, *p[inside]]
    bottom, top = min(seen) / _NG / 2.5, max(seen) / _NG * 2.5
    above.set_ylim(bottom, top)
    above.set_xlim(0, 100)
    above.set_ylabel("permeance [ng/(Pa s m²)]")
    right = above.twinx()
    right.set_yscale("log")
    right.set_ylim(bottom * _NG / PERM, top * _NG / PERM)
    right.set_ylabel("permeance [perm]")
    for axis in (above.yaxis, right.yaxis):
        axis.set_major_formatter(FuncFormatter(lambda v, _: plain(v)))
    at = min(max(0.5 * (low + high), low), high)
    _say(above, "curve", 100 * at, float(np.interp(at, phi, p)) / _NG, INDIGO, (8, -14))
    key = "bar: one cup, between the humidities at the film\nwhisker: twice its uncertainty"
    above.text(0.015, 0.98, key, color=WINE, fontsize=9, transform=above.transAxes, va="top")
    below.axhline(0.0, color=INDIGO, linewidth=1.2)
    below.set_ylabel("measured less\nmodelled [%]", fontsize=9.5)
    below.set_xlabel("relative humidity [%]")
    reach = max(abs(v) for v in below.get_ylim())
    below.set_ylim(-reach, reach)
    for axes in (above, below, right):
        axes.spines["top"].set_visible(False)
        axes.tick_params(labelsize=9.5)
    below.spines["right"].set_visible(False)
    return figure


def directions_figure(found: DirectionalFit, name: str = "") -> Figure:
    """Draw the curves for both directions of flow with their tests and 95 % bands.

    Parameters
    ----------
    found : DirectionalFit
    name : str
        What the membrane is called.
    """
    from matplotlib.figure import Figure
    from matplotlib.ticker import FuncFormatter

    figure = Figure(figsize=(7.6, 5.8))
    axes = figure.subplots()
    chance = "less than 1" if found.chance < 0.01 else f"{100 * found.chance:.0f}"
    title = (
        f"Local permeance by direction of flow, {found.inward.family} curves with their 95 % bands; a film without "
        f"sides differs as much in {chance} of 100 series"
    )
    _head(figure, name or "membrane", title, 80)
    figure.subplots_adjust(left=0.115, right=0.88, top=0.82, bottom=0.1)
    phi = np.linspace(0.0, 1.0, 201)
    parts = ((found.inward, INDIGO, "-", "o", "inward"), (found.outward, WINE, DASHED, "s", "outward"))
    seen: list[float] = []
    for fit, colour, style, mark, _ in parts:
        low, high = fit.covered
        inside = (phi >= low - 1e-9) & (phi <= high + 1e-9)
        lower, upper = (e / _NG for e in fit.band(phi))
        axes.fill_between(100 * phi, lower, upper, where=inside.tolist(), color=colour, alpha=0.16, linewidth=0)
        p = np.asarray(fit.curve(phi)) / _NG
        axes.plot(100 * phi, p, color=colour, linewidth=2.0, linestyle=style)
        for test, measured in zip(fit.tests, fit.measured, strict=True):
            a, b, y = _over_film(test, measured)
            axes.plot([100 * a, 100 * b], [y / _NG] * 2, color=colour, linewidth=1.0, marker="|", markersize=6)
            axes.plot([50 * (a + b)], [y / _NG], mark, color=colour, markersize=4.5)
        seen += [*(fit.measured / _NG), *p[inside]]
    axes.set_yscale("log")
    bottom, top = min(seen) / 2.5, max(seen) * 2.5
    axes.set_ylim(bottom, top)
    axes.set_xlim(0, 100)
    axes.set_ylabel("permeance [ng/(Pa s m²)]")
    axes.set_xlabel("relative humidity [%]")
    right = axes.twinx()
    right.set_yscale("log")
    right.set_ylim(bottom * _NG / PERM, top * _NG / PERM)
    right.set_ylabel("permeance [perm]")
    for axis in (axes.yaxis, right.yaxis):
        axis.set_major_formatter(FuncFormatter(lambda v, _: plain(v)))
    # where the curves are furthest apart their names are clearest
    logs = [np.log(np.asarray(part[0].curve(phi))) for part in parts]
    k = int(np.argmax(np.abs(logs[0] - logs[1])))
    top_one = 0 if logs[0][k] >= logs[1][k] else 1
    for i, (_, colour, _, _, word) in enumerate(parts):
        away = (-48, 6) if i == top_one else (8, -12)
        _say(axes, word, 100 * float(phi[k]), float(np.exp(logs[i][k])) / _NG, colour, away)
    for part in (axes, right):
        part.spines["top"].set_visible(False)
        part.tick_params(labelsize=9.5)
    return figure


def _over_film(test: CupTest, permeance: float) -> tuple[float, float, float]:
    """Return the humidities at the faces of the film, rising, and the mean permeance between them."""
    cup, room = test.humidities
    r_cup, r_room = test.air_resistance(), test.surface_resistance
    whole = 1.0 / permeance + (r_cup + r_room if test.corrected else 0.0)
    q = (cup - room) / whole
    low, high = sorted((cup - q * r_cup, room + q * r_room))
    return low, high, 1.0 / (whole - r_cup - r_room)


def map_figure(found: xr.Dataset) -> Figure:
    """Draw a membrane map: days until a tenth is left, and the share that left inward.

    Parameters
    ----------
    found : Dataset
        Of `membrane_map`.
    """
    from matplotlib.figure import Figure

    first, second = (str(d) for d in found["days_to_90_percent_dry"].dims)
    rows, columns = found.sizes[first], found.sizes[second]
    figure = Figure(figsize=(1.9 + 0.78 * columns, 2.3 + 0.84 * rows) if columns * rows > 12 else (6.6, 6.4))
    panels = figure.subplots(2, 1, sharex=True)
    figure.subplots_adjust(left=0.19, right=0.97, top=1.0 - 1.0 / figure.get_figheight(), bottom=0.1, hspace=0.22)
    a = found.attrs
    _head(
        figure,
        f"{a['case']}: {a['film']}",
        f"Dry-out of {plain(a['amount'])} kg/m² of water with other membranes",
        round(11 * figure.get_figwidth()),
    )
    _fields(panels[0], found, "days_to_90_percent_dry", 1.0, "cividis", "Days until a tenth is left")
    _fields(panels[1], found, "share_inward", 100.0, "cividis_r", "Share that left inward [%]")
    panels[1].set_xlabel(_label(second))
    for axes in panels:
        axes.set_ylabel(_label(first).replace(" [", "\n["))
    return figure


def _fields(axes: Axes, found: xr.Dataset, key: str, scale: float, colours: str, title: str) -> None:
    """Draw one field for each pair, its value written in it."""
    first, second = (str(d) for d in found[key].dims)
    values = scale * found[key].values
    rows, columns = values.shape
    finite = values[np.isfinite(values)]
    low, high = (float(finite.min()), float(finite.max())) if finite.size else (0.0, 1.0)
    decimals = 0 if high >= 100.0 or high - low > 50.0 else 1
    axes.set_facecolor("#eeeeee")
    mesh = axes.pcolormesh(
        np.arange(columns + 1) - 0.5, np.arange(rows + 1) - 0.5, np.ma.masked_invalid(values), cmap=colours,
        vmin=low, vmax=high if high > low else low + 1.0, edgecolors="white", linewidth=1.2,
    )  # fmt: skip
    for i in range(rows):
        for j in range(columns):
            known = bool(np.isfinite(values[i, j]))
            text = f"{values[i, j]:.{decimals}f}" if known else "not\nreached"
            light = known and sum(mesh.to_rgba(values[i, j])[:3]) / 3.0 < 0.5
            axes.text(j, i, text, ha="center", va="center", fontsize=9 if known else 7.5,
                      color="white" if light else INK)  # fmt: skip
    axes.set_xticks(np.arange(columns), _ticks(found, second))
    axes.set_yticks(np.arange(rows), _ticks(found, first))
    axes.tick_params(length=0, labelsize=9.5)
    for spine in axes.spines.values():
        spine.set_visible(False)
    axes.set_title(title, loc="left", fontsize=10.5, color=INK)


def _quantity(name: str) -> tuple[str, str]:
    return _AXES.get(name, (name, ""))


def _label(name: str) -> str:
    words, quantity = _quantity(name)
    unit = unit_label(quantity).replace("m2", "m²") if quantity else ""
    return f"{words} [{unit}]" if unit else words


def _ticks(found: xr.Dataset, name: str) -> list[str]:
    quantity = _quantity(name)[1]
    values = found[name].values
    return [plain(convert(v, quantity) if quantity else v) for v in values]


def sensitivity_figure(found: xr.Dataset) -> Figure:
    """Draw where the permeance of a membrane matters: days and share inward, by humidity.

    Parameters
    ----------
    found : Dataset
        Of `sensitivity`.
    """
    from matplotlib.figure import Figure

    phi = 100.0 * found["humidity"].values
    if len(phi) < 2:
        raise InputError("two or more humidities are needed", "sensitivity figure")
    figure = Figure(figsize=(7.6, 6.4))
    panels = figure.subplots(2, 1, sharex=True)
    figure.subplots_adjust(left=0.115, right=0.97, top=0.83, bottom=0.085, hspace=0.36)
    a = found.attrs
    _head(
        figure,
        f"{a['case']}: {a['film']}",
        "What 10 % more permeance about one humidity does to the dry-out trial",
        76,
    )
    width = 0.62 * np.diff(phi).min()
    rows: list[tuple[str, float, str, str, Any]] = [
        ("days_to_90_percent_dry", _TENTH, "Days until a tenth is left: change [%]", INDIGO, ""),
        ("share_inward_change", _TENTH, "Share that left inward: change [percentage points]", WINE, "////"),
    ]
    for axes, (key, scale, title, colour, hatch) in zip(panels, rows, strict=True):
        values = scale * found[key].values
        even = scale * float(a[f"even_{key}"])
        base = a["base_days_to_90_percent_dry"] if key == "days_to_90_percent_dry" else 100.0 * a["base_share_inward"]
        unit = " days" if key == "days_to_90_percent_dry" else " %"
        axes.bar(phi, values, width, color=colour, hatch=hatch, edgecolor="white", linewidth=0.0)
        axes.axhline(0.0, color=INK, linewidth=0.8)
        axes.set_title(title, loc="left", fontsize=10.5, color=INK, pad=20)
        known = "not reached" if math.isnan(base) else f"{plain(base)}{unit} as it is"
        tail = "" if math.isnan(even) else f"; 10 % more at every humidity: {even:+.2g}"
        axes.text(0.0, 1.03, known + tail, transform=axes.transAxes, va="bottom", fontsize=9, color=GREY)
        axes.spines[["top", "right"]].set_visible(False)
        axes.tick_params(labelsize=9.5)
    panels[1].set_xlabel("relative humidity at the membrane [%]")
    panels[1].set_xticks(phi, [plain(v) for v in phi])
    return figure


def _head(figure: Figure, name: str, title: str, width: int) -> None:
    """Write what the figure is of, and what it shows, at its top left."""
    high = figure.get_figheight()
    figure.text(0.03, 1.0 - 0.12 / high, name, ha="left", va="top", fontsize=9.5, color=GREY)
    text = "\n".join(textwrap.wrap(title.replace(" %", "\u00a0%"), width))
    figure.text(0.03, 1.0 - 0.32 / high, text, ha="left", va="top", fontsize=11, color=INK)


def _say(axes: Axes, text: str, x: float, y: float, colour: str, away: tuple[float, float]) -> None:
    axes.annotate(text, (x, y), away, textcoords="offset points", fontsize=9.5, color=colour)
