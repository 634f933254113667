"""Order of convergence on manufactured solutions: errors against cells and against steps, and fitted slopes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from .engine_side import HOUR
from .figures import convergence
from .manufactured_runs import end_state, problem
from .references.manufactured import Manufactured
from .report import Check, Result

Array = np.ndarray
CELLS = (12, 24, 48)
#: Steps a hour; the last stands for none at all.
PIECES = (4, 8, 16, 128)
#: Order asked for; both schemes are of second order.
ORDER = 1.9
#: A field that is held constant has no error to speak of.
NOTHING = 1e-9


def rms(a: Array) -> float:
    """Root mean square."""
    return float(np.sqrt(np.mean(a**2)))


def slope(x: Array, errors: Array) -> float:
    """Slope of the straight line through the logarithms, counted positive."""
    return float(abs(np.polyfit(np.log(x), np.log(errors), 1)[0]))


def against_cells(exact: Manufactured) -> tuple[list[float], list[float]]:
    """Errors of temperature [K] and humidity [-] after ten days of slow fields in short steps, by `CELLS`."""
    exact = replace(exact, period=40 * 86400.0)
    marks = np.linspace(0.0, 240 * HOUR, 961)
    errors_t, errors_phi = [], []
    for cells in CELLS:
        p = problem(exact, cells, marks)
        temperature, phi = end_state(p)
        t_exact, phi_exact = exact.state(p.grid.x, marks[-1])
        errors_t.append(rms(temperature - t_exact))
        errors_phi.append(rms(phi - phi_exact))
    return errors_t, errors_phi


def against_steps(exact: Manufactured) -> tuple[list[float], list[float]]:
    """Errors after a day on one mesh against the shortest step, by `PIECES` but the last."""
    exact = replace(exact, period=2 * 86400.0)
    ends = []
    for pieces in PIECES:
        marks = np.linspace(0.0, 24 * HOUR, 24 * pieces + 1)
        ends.append(end_state(problem(exact, 20, marks, newton=1e-6)))
    errors_t, errors_phi = ([rms(e[k] - ends[-1][k]) for e in ends[:-1]] for k in (0, 1))
    return errors_t, errors_phi


def one_layer(exact: Manufactured) -> Result:
    """Measure both orders on one layer."""
    steps = HOUR / np.array(PIECES[:-1])
    return _result(
        (np.array(CELLS), against_cells(exact), "cells a layer", "error against cells"),
        (steps, against_steps(exact), "step, s", "error against steps"),
    )


def two_layers(exact: Manufactured) -> Result:
    """Measure the order in space across a face."""
    return _result((np.array(CELLS), against_cells(exact), "cells a layer", "error against cells"))


def _result(*studies: tuple[Array, tuple[list[float], list[float]], str, str]) -> Result:
    checks, panels = [], []
    for x, errors, label, what in studies:
        series = []
        for e, name, unit in zip(errors, ("temperature", "humidity"), ("K", "-"), strict=True):
            if max(e) < NOTHING:
                continue
            checks.append(Check(f"order of {name}, {what}", slope(x, np.array(e)), ORDER, "-", at_least=True))
            series.append((x, np.array(e), f"{name} [{unit}]"))
        panels.append((series, label, "error, root mean square"))
    return Result(tuple(checks), lambda: convergence(*panels))
