"""Figures of a study: main effects, a map over two axes, every case as a line. Each returns a matplotlib Figure.

Values are shown in cividis, which is even in grey, and written in the fields or beside the points.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from ..errors import InputError
from ..figures import INDIGO, INK, SOFT, WINE
from ..text import plain
from .reading import axes_of, levels_of, numbers_of

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure

#: Where a case without a value stands on a scale from 0 to 1.
NONE = 1.12


def _head(figure: Figure, title: str, below: str) -> None:
    """Write title and a line below it in the upper left corner."""
    height = figure.get_figheight()
    figure.text(0.02, 1.0 - 0.12 / height, title, fontsize=13, color=INK, va="top", weight="bold")
    below = textwrap.fill(below, int(12.0 * figure.get_figwidth()))
    figure.text(0.02, 1.0 - 0.42 / height, below, fontsize=10, color=SOFT, va="top")


def _unit(attributes: Any) -> str:
    unit = str(attributes.get("units", ""))
    return f" [{unit.replace('m-2', '/m²').replace(' /', '/')}]" if unit not in ("", "1") else ""


def effects_figure(found: xr.Dataset, title: str) -> Figure:
    """Draw the mean of every output at every value of every axis, one row of panels for each output.

    Parameters
    ----------
    found : Dataset
        Of `main_effects`.
    title : str
    """
    from matplotlib.figure import Figure

    outputs, axes = [str(o) for o in found["output"].values], [str(a) for a in found["axis"].values]
    width = max(6.0, 1.2 + sum(1.0 + 0.45 * _count(found, a) for a in axes))
    figure = Figure(figsize=(width, 0.9 + 2.7 * len(outputs)))
    panels = figure.subplots(
        len(outputs), len(axes), squeeze=False, sharey="row",
        gridspec_kw={"width_ratios": [1.0 + _count(found, a) for a in axes]},
    )  # fmt: skip
    height = figure.get_figheight()
    figure.subplots_adjust(
        left=0.85 / width, right=0.98, top=1 - 1.15 / height, bottom=0.75 / height, hspace=0.55, wspace=0.08
    )
    _head(
        figure,
        title,
        "Mean of the cases at each value; in percent the share of the spread, below the cases without a value",
    )
    for i, output in enumerate(outputs):
        for j, axis in enumerate(axes):
            one = found.sel(output=output, axis=axis)
            labels = [str(t) for t in one["label"].values if t]
            x, y = np.arange(len(labels)), one["mean"].values[: len(labels)]
            p = panels[i, j]
            p.plot(x, y, color=INDIGO, linewidth=1.4, marker="o", markersize=5)
            for k, lost in enumerate(one["missing"].values[: len(labels)]):
                if lost > 0.0:
                    p.annotate(f"{lost:.0%} none", (k, 0.02), xycoords=("data", "axes fraction"), ha="center",
                               fontsize=7.5, color=SOFT)  # fmt: skip
            p.set_xlim(-0.5, len(labels) - 0.5)
            p.set_xticks(x, [textwrap.fill(t, 12) for t in labels], fontsize=8, rotation=0 if len(labels) < 4 else 60)
            p.grid(axis="y", color="#e4e4e4", linewidth=0.7)
            p.tick_params(length=0, labelsize=8)
            for side in ("top", "right", "left"):
                p.spines[side].set_visible(False)
            p.margins(y=0.18)
            share = float(one["share"])
            told = f"{axis}: {max(share, 0.0):.0%}" if share == share else axis
            p.set_title(textwrap.fill(told, 16 + 8 * len(labels) // 2), loc="left", fontsize=9, color=INK)
        unit = str(found["units"].sel(output=output).values)
        panels[i, 0].set_ylabel(textwrap.fill(output.replace("_", " ") + _unit({"units": unit}), 26), fontsize=9)
    return figure


def _count(found: xr.Dataset, axis: str) -> int:
    return sum(bool(t) for t in found["label"].sel(axis=axis).values)


def map_figure(found: xr.DataArray, title: str) -> Figure:
    """Draw an output over two axes, the value written in each field.

    Parameters
    ----------
    found : DataArray
        Of `map_over`.
    title : str
    """
    from matplotlib.figure import Figure

    first, second = (str(d) for d in found.dims)
    rows, columns = found.shape
    width, height = max(5.5, 2.6 + 1.25 * columns), max(3.2, 1.9 + 0.55 * rows)
    figure = Figure(figsize=(width, height))
    axes = figure.add_axes((2.0 / width, 0.75 / height, 1.0 - 2.2 / width, 1.0 - 1.65 / height))
    how = {"mean": "Mean", "least": "Least", "greatest": "Greatest"}[found.attrs.get("how", "mean")]
    about = str(found.attrs.get("long_name", found.name))
    _head(figure, title, f"{how} of all other axes: {about}{_unit(found.attrs)}")
    seen = found.values[np.isfinite(found.values)]
    low, high = (float(seen.min()), float(seen.max())) if len(seen) else (0.0, 1.0)
    image = axes.imshow(found.values, cmap="cividis", vmin=low, vmax=high if high > low else low + 1.0, aspect="auto")
    for i in range(rows):
        for j in range(columns):
            value, lost = found.values[i, j], float(found["missing"].values[i, j])
            text = plain(value) if np.isfinite(value) else "none"
            if np.isfinite(value) and lost > 0.0:
                text += f"\n{lost:.0%} none"
            light = np.isfinite(value) and sum(image.to_rgba(value)[:3]) / 3.0 < 0.5
            axes.text(j, i, text, ha="center", va="center", fontsize=9, color="white" if light else INK)
    axes.set_xticks(np.arange(columns), [textwrap.fill(str(v), 16) for v in found[second].values])
    axes.set_yticks(np.arange(rows), [textwrap.fill(str(v), 22) for v in found[first].values])
    axes.set_xlabel(second.replace("_", " "), fontsize=9.5, color=INK)
    axes.set_ylabel(first.replace("_", " "), fontsize=9.5, color=INK)
    axes.tick_params(length=0, labelsize=8.5)
    for spine in axes.spines.values():
        spine.set_visible(False)
    return figure


def lines_figure(data: xr.Dataset, names: Sequence[str] | None, title: str) -> Figure:
    """Draw every case as a line across the axes and outputs, coloured by the last output.

    Parameters
    ----------
    data : Dataset
        Of `gather`.
    names : sequence of str or None
        Outputs; None: all that are one number for each case.
    title : str

    Raises
    ------
    InputError
        If every case failed.
    """
    from matplotlib import colormaps
    from matplotlib.collections import LineCollection
    from matplotlib.colors import to_rgba
    from matplotlib.figure import Figure

    axes, outputs = axes_of(data), numbers_of(data, names)
    columns = [*axes, *outputs]
    placed, ticks = [], []
    for name in columns:
        y, marks = _placed(data, name, name in axes)
        placed.append(y)
        ticks.append(marks)
    y = np.stack(placed, axis=1)
    sound = data["failed"].values == 0
    if not sound.any():
        raise InputError("every case failed", "lines figure")
    y = y[sound]
    colours = colormaps["cividis"](np.clip(np.nan_to_num(y[:, -1]), 0.0, 1.0))
    colours[np.isnan(y[:, -1])] = to_rgba(WINE)
    order = np.argsort(np.nan_to_num(y[:, -1], nan=2.0), kind="stable")
    absent = np.isnan(y).any(axis=0)
    rng = np.random.default_rng(0)  # cases that share a value are drawn side by side
    spread = np.array([0.018 if name in axes else 0.0 for name in columns])
    y = np.nan_to_num(y, nan=NONE) + np.maximum(spread, 0.018 * np.isnan(y)) * rng.uniform(-1.0, 1.0, y.shape)
    width = max(6.5, 1.7 * len(columns) + 0.8)
    figure = Figure(figsize=(width, 5.2))
    panel = figure.add_axes((0.5 / width, 0.04, 1.0 - 1.0 / width, 0.72))
    failed = int((~sound).sum())
    told = f"{len(y)} cases, coloured by {outputs[-1].replace('_', ' ')}"
    told += ", red where it has no value" if absent[-1] else ""
    _head(figure, title, told + (f"; {failed} failed and are left out" if failed else ""))
    x, top = np.arange(len(columns)), NONE + 0.08 if absent.any() else 1.06
    segments = [np.column_stack([x, row]) for row in y[order]]
    alpha = float(np.clip(60.0 / len(y), 0.08, 0.85))
    panel.add_collection(LineCollection(segments, colors=colours[order], alpha=alpha, linewidth=1.1))
    for j, name in enumerate(columns):
        panel.plot([j, j], [-0.03, 1.03], color=INK, linewidth=0.8)
        for height, text in [*ticks[j], *([(NONE, "none")] if absent[j] else [])]:
            panel.text(j + 0.03, height, textwrap.fill(text, 14), fontsize=7.5, color=INK, va="center",
                       bbox={"facecolor": "white", "alpha": 0.75, "edgecolor": "none", "pad": 0.6})  # fmt: skip
        unit = _unit(data[name].attrs)
        panel.text(j, top, textwrap.fill(name.replace("_", " ") + unit, 15), fontsize=8.5, ha="center", va="bottom",
                   color=INK, weight="bold" if name in outputs else "normal")  # fmt: skip
    panel.set_xlim(-0.1, len(columns) - 1 + 0.45)
    panel.set_ylim(-0.05, top - 0.02)
    panel.axis("off")
    return figure


def _placed(data: xr.Dataset, name: str, axis: bool) -> tuple[np.ndarray, list[tuple[float, str]]]:
    """Return where each case stands on the scale of a column, from 0 to 1, and labels along it."""
    values = data[name].values
    if axis and values.dtype.kind not in "fiu":
        levels, labels, index = levels_of(data, name, 12)
        top = max(len(levels) - 1, 1)
        return index / top, [(k / top, label) for k, label in enumerate(labels)]
    x = values.astype(float)
    seen = x[np.isfinite(x)]
    if not len(seen):
        return x, []
    low, high = float(seen.min()), float(seen.max())
    if high == low:
        return np.where(np.isfinite(x), 0.5, np.nan), [(0.5, plain(low, 4))]
    few = np.unique(seen)
    at = few if axis and len(few) <= 6 else np.linspace(low, high, 5)
    return (x - low) / (high - low), [((v - low) / (high - low), plain(v)) for v in at]
