"""The curves of one material or film as a figure, in both systems of units."""

from __future__ import annotations

import textwrap
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import numpy as np

from ..catalogue.page import DRY_CUP, WET_CUP, cups, retarder_class
from ..materials.curves import Points, WithTail, by_humidity
from ..materials.model import CurveLike, Film, Material, argument_of
from ..quantities import AIR_PERMEABILITY, convert, show, unit_label
from ..text import plain
from .style import DASHED, GREY, INDIGO, INK, SOFT, WINE

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_BAND, _PAPER = "#dcd9ec", "#f3f1ec"
#: Suctions of the wet end [Pa].
_WET = np.geomspace(1e3, 1e7, 161)


def entry_figure(entry: Material | Film, system: Any = "SI") -> Figure:
    """Draw every curve of an entry, with the humidities the data cover and the known spread.

    Parameters
    ----------
    entry : Material or Film
    system : {'SI', 'US'}
        Units of the left axes; the right ones have what the trade reads beside it: mass per cent, mu, the other
        system.

    Returns
    -------
    matplotlib.figure.Figure
    """
    return _material(entry, system) if isinstance(entry, Material) else _film(entry, system)


def _frame(entry: Material | Film, rows: int, columns: int, size: tuple[float, float]) -> tuple[Figure, Any]:
    from matplotlib.figure import Figure

    figure = Figure(figsize=size)
    axes = figure.subplots(rows, columns, squeeze=False)
    width, height = size
    kinds = list(dict.fromkeys(f"{s.authors}{f' ({s.year})' if s.year else ''} [{s.kind}]" for s in entry.sources))
    figure.text(0.012, 1 - 0.12 / height, entry.name, fontsize=13, color=INK, va="top")
    text = textwrap.fill("Sources: " + "; ".join(kinds), int(14.0 * width))
    figure.text(0.012, 0.08 / height, text, fontsize=8, color=GREY, va="bottom")
    figure.subplots_adjust(
        left=0.85 / width,
        right=1 - 0.85 / width,
        top=1 - (0.85 if rows > 1 else 0.75) / height,
        bottom=(0.65 + 0.13 * (1 + text.count("\n"))) / height,
        hspace=0.5,
        wspace=0.62,
    )
    return figure, axes


def _head(axes: Axes, text: str) -> None:
    axes.set_title(text, loc="left", fontsize=10, color=INK)
    axes.tick_params(labelsize=9)
    axes.spines["top"].set_visible(False)


def _right(axes: Axes, of: Callable[[Any], Any], back: Callable[[Any], Any], label: str) -> None:
    other = axes.secondary_yaxis("right", functions=(of, back))
    other.set_ylabel(label, fontsize=9)
    other.tick_params(labelsize=9)
    if axes.get_yscale() == "log":
        low, high = axes.get_ylim()
        _plain(other, high / low)


def _plain(axes: Any, span: float) -> None:
    from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

    if span < 100.0:
        axes.yaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda v, _: plain(v)))
    axes.yaxis.set_minor_formatter(NullFormatter())


def _by_humidity(axes: Axes, entry: Material | Film) -> np.ndarray:
    """Set a humidity axis, shade what the data do not cover, and return humidities."""
    low, high = entry.humidity_range
    for a, b in ((0.0, low), (high, 1.0)):
        if b > a:
            axes.axvspan(100 * a, 100 * b, color=_PAPER, linewidth=0, zorder=0)
    axes.set_xlim(0, 100)
    axes.set_xlabel("relative humidity [%]", fontsize=9)
    return np.linspace(0.0, 0.9999, 401)


def _line(axes: Axes, x: Any, y: Any, spread: tuple[float, float] | None, most: float = np.inf, **style: Any) -> None:
    if spread is not None:
        axes.fill_between(x, spread[0] * y, np.minimum(spread[1] * y, most), color=_BAND, linewidth=0)
    axes.plot(x, y, **{"color": INDIGO, "linewidth": 2.0, **style})


def _printed(curve: CurveLike) -> np.ndarray:
    """Return the humidities [-] of the points that a curve was drawn through, none where it was not."""
    part = curve.hygroscopic if isinstance(curve, WithTail) else curve
    if not isinstance(part, Points) or part.of != "humidity":
        return np.zeros(0)
    x = np.array(part.x)
    return x[(x > 0.0) & (x < 1.0)]


def _dots(axes: Axes, curve: CurveLike, scale: Callable[[Any], Any]) -> None:
    x = _printed(curve)
    if len(x):
        axes.plot(100 * x, scale(np.asarray(curve(x))), "o", color=WINE, markersize=4.5, zorder=3)


def _material(m: Material, system: Any) -> Figure:
    figure, axes = _frame(m, 2, 3, (11.6, 6.6))
    (hygroscopic, wet, vapour), (liquid, heat, words) = axes
    factor = convert(1.0, "water_content", system)
    unit = unit_label("water_content", system)
    read = by_humidity(m.storage)
    phi = _by_humidity(hygroscopic, m)
    spread = m.spread.get("storage")
    water = factor * read(phi)
    _line(hygroscopic, 100 * phi, water, spread, factor * m.saturation)
    _dots(hygroscopic, m.storage, lambda v: factor * v)
    seen = 1.15 * factor * float(read(0.97)) * (spread[1] if spread else 1.0)
    hygroscopic.set_ylim(0.0, min(seen, 1.05 * factor * m.saturation))
    hygroscopic.set_ylabel(f"water [{unit}]", fontsize=9)
    _head(hygroscopic, "Storage")
    mass = 100.0 / (m.density * factor)
    _right(hygroscopic, lambda y: mass * y, lambda y: y / mass, "% of dry mass")

    scale = 1000.0 * 461.5 * 296.15
    wet.plot(_WET / 1000.0, factor * read(np.exp(-_WET / scale)), color=INDIGO, linewidth=2.0)
    wet.set_xscale("log")
    wet.set_xlim(_WET[-1] / 1000.0, _WET[0] / 1000.0)
    wet.set_ylim(bottom=0.0)
    wet.set_xlabel("suction [kPa], wetter to the right", fontsize=9)
    wet.set_ylabel(f"water [{unit}]", fontsize=9)
    wet.xaxis.set_major_formatter(lambda v, _: plain(v))
    wet.axvline(-scale * np.log(0.98) / 1000.0, color=SOFT, linewidth=0.8, linestyle=DASHED)
    wet.text(-scale * np.log(0.98) / 1000.0, 1.0, " 98 %", color=GREY, fontsize=8.5, va="top", ha="left",
             transform=wet.get_xaxis_transform())  # fmt: skip
    _head(wet, "Storage near saturation")
    _right(wet, lambda y: mass * y, lambda y: y / mass, "% of dry mass")

    phi = _by_humidity(vapour, m)
    per = convert(1.0, "permeability", system)
    _line(vapour, 100 * phi, per * by_humidity(m.permeability, m.storage)(phi), m.spread.get("permeability"))
    _dots(vapour, m.permeability, lambda v: per * v)
    _log(vapour)
    vapour.set_ylabel(f"vapour permeability [{unit_label('permeability', system)}]", fontsize=9)
    _head(vapour, "Vapour")
    _mu(vapour, per)

    _liquid(liquid, m, factor, unit)
    content = np.linspace(0.0, m.saturation, 101)
    conductivity = _of_water(m, content)
    _line(heat, factor * content, convert(conductivity, "conductivity", system), m.spread.get("conductivity"))
    heat.set_ylim(bottom=0.0)
    heat.set_xlim(0.0, factor * m.saturation)
    heat.set_xlabel(f"water [{unit}]", fontsize=9)
    heat.set_ylabel(f"conductivity [{unit_label('conductivity', system)}]", fontsize=9)
    _head(heat, "Heat")
    other: Any = "SI" if system == "US" else "US"
    ratio = float(convert(1.0, "conductivity", other) / convert(1.0, "conductivity", system))
    _right(heat, lambda y: ratio * y, lambda y: y / ratio, unit_label("conductivity", other))
    _facts(words, m)
    return figure


def _of_water(m: Material, content: np.ndarray) -> np.ndarray:
    """Return the conductivity [W/(m K)] at water contents [kg/m3]."""
    if argument_of(m.conductivity) == "water content":
        return np.asarray(m.conductivity(content), dtype=float)
    phi = 1.0 - np.concatenate([np.linspace(1.0, 0.05, 96), np.geomspace(0.045, 1e-9, 200)])
    at, y = by_humidity(m.storage)(phi), by_humidity(m.conductivity, m.storage)(phi)
    found: np.ndarray = np.interp(content, at, y)
    return found


def _liquid(axes: Axes, m: Material, factor: float, unit: str) -> None:
    _head(axes, "Liquid")
    curve = m.liquid if m.liquid is not None else m.diffusivity
    if curve is None:
        axes.set_axis_off()
        axes.text(0.5, 0.5, "no liquid flow", ha="center", va="center", color=GREY, transform=axes.transAxes)
        return
    name, label = ("liquid", "conductivity K [s]") if m.liquid is not None else ("liquid", "diffusivity [m²/s]")
    phi = 1.0 - np.concatenate([np.linspace(0.9, 0.05, 86), np.geomspace(0.045, 1e-8, 300)])
    water = by_humidity(m.storage)(phi)
    y = by_humidity(curve, m.storage)(phi)
    flows = y > 0.0
    _line(axes, factor * water[flows], y[flows], m.spread.get(name))
    axes.set_yscale("log")
    axes.set_ylim(top=3.0 * float(np.max(y)) * m.spread.get(name, (1, 1))[1], bottom=1e-5 * float(np.max(y)))
    axes.set_xlim(0.0, factor * m.saturation)
    axes.set_xlabel(f"water [{unit}]", fontsize=9)
    axes.set_ylabel(label, fontsize=9)
    if not np.all(flows):
        axes.axvline(factor * float(water[flows][0]), color=SOFT, linewidth=0.8, linestyle=DASHED)
        low, high = float(phi[~flows][-1]), float(phi[flows][0])
        _head(axes, f"Liquid, above {50 * (low + high):.0f} % humidity")


def _facts(axes: Axes, m: Material) -> None:
    axes.set_axis_off()
    rows = [
        ("density", m.density, "density"),
        ("heat capacity, dry", m.heat_capacity, "heat_capacity"),
        ("water at most", m.saturation, "water_content"),
    ]
    lines = [f"{words}\n   {show(v, q)} = {show(v, q, 'US')}" for words, v, q in rows]
    lines[2] += f"\n   = {plain(100 * m.saturation / m.density)} % of the dry mass"
    lines += [f"{name}: {few:g} to {many:g} times" for name, (few, many) in m.spread.items()]
    if m.spread:
        lines.insert(3, "\nknown spread (band)")
    low, high = m.humidity_range
    lines.append(f"\ndata from {100 * low:.0f} to {100 * high:.0f} % (white)")
    if len(_printed(m.storage)) or len(_printed(m.permeability)):
        lines.append("dots: points of the tables")
    axes.text(-0.1, 1.12, "\n".join(lines), fontsize=9, va="top", color=INK, transform=axes.transAxes, linespacing=1.3)


def _log(axes: Axes) -> None:
    axes.set_yscale("log")
    low, high = axes.get_ylim()
    if high / low < 10.0:
        middle = float(np.sqrt(low * high))
        low, high = middle / 10**0.5, middle * 10**0.5
        axes.set_ylim(low, high)
    _plain(axes, high / low)


def _mu(axes: Axes, per: float) -> None:
    def of(y: Any) -> Any:
        return per * AIR_PERMEABILITY / np.maximum(y, 1e-30)

    _right(axes, of, of, "mu")


def _film(film: Film, system: Any) -> Figure:
    figure, axes = _frame(film, 1, 1, (7.6, 5.4))
    axis = axes[0][0]
    phi = _by_humidity(axis, film)
    per = convert(1.0, "permeance", system)
    spread = film.spread.get("permeance")
    read = by_humidity(film.permeance)
    _line(axis, 100 * phi, per * read(phi), spread)
    _dots(axis, film.permeance, lambda v: per * v)
    if film.permeance_outward is not None:
        _line(axis, 100 * phi, per * by_humidity(film.permeance_outward)(phi), None, color=WINE, linestyle=DASHED)
        for curve, text, colour in ((read, "inward", INDIGO), (by_humidity(film.permeance_outward), "outward", WINE)):
            axis.annotate(text, (75, per * curve(0.75)), (-4, 5), textcoords="offset points", color=colour, ha="right")
    pair = cups(read)
    for mean, (low, high), text in zip(pair, (DRY_CUP, WET_CUP), ("dry cup", "wet cup"), strict=True):
        axis.plot([100 * low, 100 * high], [per * mean] * 2, color=SOFT, linewidth=1.6, marker="|", markersize=7)
        spot, side = (100 * low + 1, "left") if low < 0.3 else (100 * high - 1, "right")
        label = f"{text} {show(mean, 'permeance')} = {show(mean, 'permeance', 'US')}"
        axis.annotate(label, (spot, per * mean), (0, 4), textcoords="offset points", fontsize=8.5, color=GREY,
                      ha=side)  # fmt: skip
    _log(axis)
    axis.set_ylabel(f"local permeance [{unit_label('permeance', system)}]", fontsize=9)
    words = retarder_class(pair[0])
    said = "no vapour retarder by its dry cup (IRC)" if words == "none" else f"vapour retarder class {words} (IRC)"
    if spread is not None:
        said += f"; band: known spread, {spread[0]:g} to {spread[1]:g} times"
    if len(_printed(film.permeance)):
        said += "; dots: points of the table"
    _head(axis, said)
    other: Any = "SI" if system == "US" else "US"
    ratio = float(convert(1.0, "permeance", other) / per)
    _right(axis, lambda y: ratio * y, lambda y: y / ratio, f"local permeance [{unit_label('permeance', other)}]")
    return figure
