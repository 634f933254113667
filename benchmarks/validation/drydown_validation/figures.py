"""Figures of the validation: the reference as a line, the engine as points."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from matplotlib.figure import Figure

#: Okabe and Ito's colours, told apart by people who do not see all of them.
COLOURS = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#E69F00", "#56B4E9", "#000000")
#: A curve: where, engine, reference (on the same places), label.
Curve = tuple[Any, Any, Any, str]
#: Curves, label of x, label of y, limits of x or None.
Panel = tuple[Sequence[Curve], str, str, tuple[float, float] | None]


def _figure(panels: int) -> tuple[Figure, Any]:
    from matplotlib.figure import Figure

    figure = Figure(figsize=(4.6 * panels, 3.6), layout="constrained")
    return figure, np.atleast_1d(figure.subplots(1, panels))


def curves(*panels: Panel, line: str = "-") -> Figure:
    """Draw one panel each of engine and reference; `line` "_": the reference as bars, where nothing lies between."""
    figure, axes = _figure(len(panels))
    for ax, (drawn, x_label, y_label, limits) in zip(axes, panels, strict=True):
        for i, (x, engine, exact, label) in enumerate(drawn):
            colour = COLOURS[i % len(COLOURS)]
            x, engine = np.asarray(x, dtype=float), np.asarray(engine, dtype=float)
            style = {"linestyle": "-"} if line == "-" else {"linestyle": "none", "marker": "_", "markersize": 16}
            ax.plot(x, exact, color=colour, linewidth=1.2, label=label, **style)
            seen = np.ones(len(x), dtype=bool) if limits is None else (x >= limits[0]) & (x <= limits[1])
            at = np.flatnonzero(seen)
            at = at[np.unique(np.linspace(0, len(at) - 1, min(len(at), 28)).astype(int))]
            ax.plot(x[at], engine[at], "o", color=colour, markersize=3.2, markerfacecolor="none")
        ax.set_xlabel(x_label)
        ax.set_ylabel(y_label)
        if limits is not None:
            ax.set_xlim(*limits)
        ax.spines[["top", "right"]].set_visible(False)
        ax.legend(
            frameon=False,
            fontsize=8,
            title="line: reference, points: engine",
            title_fontsize=7,
            loc="lower left",
            bbox_to_anchor=(0.0, 1.0),
            ncols=2,
            alignment="left",
        )
    return figure


#: Errors by cells or steps: places, errors, label.
Errors = tuple[Any, Any, str]


def convergence(*panels: tuple[Sequence[Errors], str, str]) -> Figure:
    """Draw errors against cells or steps on logarithmic axes, with fitted slopes and second order beside them."""
    figure, axes = _figure(len(panels))
    for ax, (series, x_label, y_label) in zip(axes, panels, strict=True):
        for i, (x, errors, label) in enumerate(series):
            fit = float(np.polyfit(np.log(x), np.log(errors), 1)[0])
            ax.loglog(x, errors, "o-", color=COLOURS[i], markersize=4, label=f"{label}: slope {abs(fit):.2f}")
            second = 2.0 * np.sign(fit)
            ax.loglog(x, 0.6 * errors[0] * (x / x[0]) ** second, "--", color="0.7", linewidth=1.0)
        ax.plot([], [], "--", color="0.7", label="second order")
        ax.set_xlabel(x_label)
        ax.set_ylabel(y_label)
        ax.set_xticks(series[0][0], [f"{v:g}" for v in series[0][0]])
        ax.minorticks_off()
        ax.spines[["top", "right"]].set_visible(False)
        ax.legend(frameon=False, fontsize=8)
    return figure
