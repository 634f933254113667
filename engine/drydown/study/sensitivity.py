"""How much each axis moves an output: shares of the spread, Sobol' indices, elementary effects; with intervals.

Every number comes with an interval that is meant to hold the true one in 95 of 100 studies. On functions whose truth is
known, at 64 to 1,024 samples, single intervals hold it in 90 to 100 of 100: those of Sobol' indices in 95 or more,
those of shares in 90 or more, but for an axis without effect in a Sobol' sequence of 256, which in 15 of 100 seeds
looks like another axis.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from ..arrays import Array
from ..errors import InputError
from .designs import SECOND, morris_moves
from .reading import axes_of, levels_of, numbers_of

if TYPE_CHECKING:
    import xarray as xr

#: An axis of more values than this, each of few cases, is read by the order of its values.
MANY = 12


def share_of(values: Array, index: np.ndarray, ranks: np.ndarray | None, design: str) -> tuple[float, float, float]:
    """Return the share of the variance of values that an axis explains alone, and the ends of its 95 % interval.

    Parameters
    ----------
    values : array, shape (n,)
        Of an output.
    index : array of int, shape (n,)
        Level of every case.
    ranks : array of int, shape (n,), optional
        Order of the axis, where it takes many values.
    design : str
        Word of the design: in a full grid means over levels have no scatter, and the share is what it is; in a Sobol'
        sequence cases are spread evenly, and scatter as of chance is too much.

    Notes
    -----
    Levels: the variance between their means less what scatter within them lends to it, epsilon squared of Kelley
    (1935), whose mean is 0 for an axis that does nothing; interval by the jackknife over cases. Many values: the mean
    product of neighbours along the axis (F. Gamboa, P. Gremaud, T. Klein, A. Lagnoux, Bernoulli 28 (2022), 2284-2312;
    from memory); interval from the scatter of its terms, which depend on their neighbours. A share may come out below
    0, as half of those of axes without any effect do.

    Neighbours in a Sobol' sequence are opposites in the other axes; there straight pieces are fitted, and the truth
    lies between what they explain and that less what chance would lend to them: the middle is given, and the interval
    spans both and half as much again, as two axes of a sequence may be alike.

    Intervals are those of Student's t with a sixteenth of the cases as degrees of freedom, two at least: products of
    values are far from normal. That rule was set by trying (Ishigami's function, sums, products, thresholds, the
    g-function of Sobol').
    """
    from scipy import stats

    n = len(values)
    y = values - values.mean()
    total = float(np.mean(y**2))
    levels = int(index.max()) + 1
    if total <= 1e-30 * max(1.0, float(np.mean(values**2))) or n < 4:
        return np.nan, np.nan, np.nan
    if design in ("grid", "list"):
        between = _between(y, index, levels) / (n * total)
        return between, between, between
    quantile = float(stats.t.ppf(0.975, max(n / 16.0, 2.0)))
    if design.startswith("sobol"):
        raw, free = _pieces(y, ranks) if ranks is not None else (_between(y, index, levels) / (n * total), levels)
        if n <= free:
            return np.nan, np.nan, np.nan
        less = 1.0 - (1.0 - raw) * (n - 1.0) / (n - free)
        error = 2.0 * np.sqrt(max(raw, 0.0)) * (1.0 - raw) / np.sqrt(n)  # Olkin and Finn (1995), from memory
        beyond = quantile * float(error) + 0.5 * (raw - less)
        return 0.5 * (raw + less), less - beyond, raw + beyond
    if ranks is not None:
        return _by_neighbours(y[np.argsort(ranks, kind="stable")], total, quantile)
    if n <= levels:
        return np.nan, np.nan, np.nan
    found = _epsilon(y, index, levels)
    left_out = np.array([_epsilon(np.delete(y, i), np.delete(index, i), levels) for i in _some(n)])
    error = float(np.sqrt((n - 1) * np.var(left_out)))
    return found, found - quantile * error, found + quantile * error


def _pieces(y: Array, ranks: np.ndarray) -> tuple[float, int]:
    """Return the share that straight pieces along an axis explain, and how many numbers they are made of."""
    n = len(y)
    pieces = max(1, round(n ** (1.0 / 3.0)))
    at = (np.argsort(np.argsort(ranks, kind="stable"), kind="stable") + 0.5) / n * pieces
    piece = np.minimum(at.astype(np.int64), pieces - 1)
    basis = np.zeros((n, 2 * pieces))
    basis[np.arange(n), 2 * piece] = 1.0
    basis[np.arange(n), 2 * piece + 1] = at - piece - 0.5
    fitted = basis @ np.linalg.lstsq(basis, y, rcond=None)[0]
    return float(np.sum(fitted**2) / np.sum(y**2)), 2 * pieces


def _by_neighbours(y: Array, total: float, quantile: float) -> tuple[float, float, float]:
    """Return the share of an axis along which centred values stand in order, and its interval.

    The terms of the mean depend on their neighbours alone: what a term shares with the next beyond what it shares with
    one three places on, which is what the axis does there, is scatter.
    """
    n = len(y)
    raw = float(np.mean(y[:-1] * y[1:]) / total)
    found = raw + (1.0 - raw) / (n - 1.0)  # values about their own mean lean against each other
    term = (y[:-1] * y[1:] - raw * 0.5 * (y[:-1] ** 2 + y[1:] ** 2)) / total
    beside = float(np.mean(term[:-1] * term[1:]))
    apart = float(np.mean(term[:-3] * term[3:])) if n > 8 else 0.0
    # a tenth more, as the scatter of the variance they are held against is not in the terms; set by trying
    error = 1.1 * np.sqrt(max(float(np.mean(term**2)) + 2.0 * (beside - apart), 0.25) / n)
    return found, found - quantile * float(error), found + quantile * float(error)


def _some(n: int, most: int = 400) -> np.ndarray:
    """Return cases to leave out in turn: all, or evenly chosen ones."""
    return np.arange(n) if n <= most else np.linspace(0, n - 1, most).astype(np.int64)


def _between(y: Array, index: np.ndarray, levels: int) -> float:
    """Return the sum of squares of the means of levels about the mean of all."""
    count = np.bincount(index, minlength=levels)
    mean = np.bincount(index, y, levels) / np.maximum(count, 1)
    return float(np.sum(count * (mean - y.mean()) ** 2))


def _epsilon(y: Array, index: np.ndarray, levels: int) -> float:
    """Return epsilon squared of levels."""
    total = float(np.sum((y - y.mean()) ** 2))
    there = len(np.unique(index))
    between = _between(y, index, levels)
    within = (total - between) / max(len(y) - there, 1)
    return (between - (there - 1) * within) / total if total > 0.0 else np.nan


def main_effects(data: xr.Dataset, names: Sequence[str] | None = None, bins: int = 8) -> xr.Dataset:
    """Return the mean of outputs at every level of every axis, over all cases that have it.

    Parameters
    ----------
    data : Dataset
        Of `gather`.
    names : sequence of str, optional
        Outputs; by default all that are one number for each case.
    bins : int
        Levels into which an axis of many numbers is cut.

    Returns
    -------
    Dataset
        `mean` (output, axis, level), `missing` (output, axis, level): the share of cases without a value;
        `share` (output, axis): share of the variance of all cases that the axis explains alone, with the ends of its
        95 % interval, `share_low` and `share_high`: the first-order index where axes vary independently (sampled, or a
        full grid, whose shares are exact), NaN where a level has no value at all, or paths of Morris
        are no sample. In samples it is without bias, so
        that the share of an axis that does nothing scatters about 0 and may fall below. `label` (axis, level). NaN and
        "" where an axis has fewer levels.

    Notes
    -----
    See `share_of`. Where axes are correlated a share holds what an axis brings together with those it goes with.
    """
    axes, outputs = axes_of(data), numbers_of(data, names)
    found = [levels_of(data, axis, bins) for axis in axes]
    most = max(len(f[1]) for f in found)
    mean = np.full((len(outputs), len(axes), most), np.nan)
    missing = np.full_like(mean, np.nan)
    share = np.full((3, len(outputs), len(axes)), np.nan)
    design = str(data.attrs.get("design"))
    # of the matrices of Sobol' indices the first two are a sample; the others repeat their values
    used = slice(0, 2 * int(data.attrs["samples"])) if design.startswith("sobol indices") else slice(None)
    label = np.full((len(axes), most), "", dtype=object)
    for j, (_, labels, index) in enumerate(found):
        label[j, : len(labels)] = labels
        for i, name in enumerate(outputs):
            y = data[name].values.astype(float)
            there = np.isfinite(y)
            total = np.bincount(index, minlength=len(labels))
            count = np.bincount(index[there], minlength=len(labels))
            with np.errstate(invalid="ignore", divide="ignore"):
                m = np.bincount(index[there], y[there], len(labels)) / count
            mean[i, j, : len(labels)] = m
            missing[i, j, : len(labels)] = 1.0 - count / total
            if count.all() and design != "morris":
                sound = np.flatnonzero(there[used])
                level = np.unique(index[sound], return_inverse=True)[1]
                share[:, i, j] = share_of(y[sound], level, _order(data[axes[j]].values[sound], design), design)
    dims = ("output", "axis", "level")
    return _told(
        data,
        {
            "mean": (dims, mean, {"long_name": "mean over the cases of the level"}),
            "missing": (dims, missing, {"long_name": "share of the cases without a value", "units": "1"}),
            "share": (dims[:2], share[0], {"long_name": "share of the variance that the axis explains", "units": "1"}),
            "share_low": (dims[:2], share[1], {"long_name": "lower end of the 95 % interval", "units": "1"}),
            "share_high": (dims[:2], share[2], {"long_name": "upper end of the 95 % interval", "units": "1"}),
            "label": (("axis", "level"), label),
        },
        _with_units(data, outputs),
    )


def _order(values: np.ndarray, design: str) -> np.ndarray | None:
    """Return the order of an axis of many values; None where it has few, they have no order, or it is a full grid."""
    if (
        design in ("grid", "list")
        or values.dtype.kind not in "fiM"
        or len(np.unique(values)) <= min(MANY, len(values) // 2)
    ):
        return None
    found: np.ndarray = np.argsort(np.argsort(values, kind="stable"), kind="stable")
    return found


def sobol_indices(
    data: xr.Dataset, names: Sequence[str] | None = None, resamples: int = 200, seed: int = 0
) -> xr.Dataset:
    """Return the Sobol' indices of a study with the design "sobol indices".

    Parameters
    ----------
    data : Dataset
        Of `gather`.
    names : sequence of str, optional
        Outputs; by default all that are one number for each case.
    resamples : int
        Of the rows, with replacement, for the intervals.
    seed : int

    Returns
    -------
    Dataset
        `first_order` and `total_order` (output, axis) with the ends of their 95 % intervals by bootstrap
        (`first_order_low`, `first_order_high`, ...); of the design "sobol indices, second order" `second_order`
        (output, axis, other) too, what two axes do together beyond what each does alone; `used` (output): rows of the
        sample with a value in all of their cases.

    Raises
    ------
    InputError
        If the design is another.

    Notes
    -----
    The estimators of Saltelli et al. (2010), Comput. Phys. Commun. 181, 259-270, table 2 (b) and (f), those of
    `scipy.stats.sobol_indices`, which takes whole Sobol' sequences only; of second order Saltelli (2002), Comput. Phys.
    Commun. 145, 280-297 (from memory). Rows with a missing value are left out,
    which skews the indices where many are missing.
    """
    axes, outputs = axes_of(data), numbers_of(data, names)
    design = str(data.attrs.get("design"))
    if design not in ("sobol indices", SECOND):
        raise InputError(f"it needs design = \"sobol indices\", not '{design}'", "sobol_indices")
    n, k = int(data.attrs["samples"]), len(axes)
    shapes = {"first_order": (k,), "total_order": (k,)} | ({"second_order": (k, k)} if design == SECOND else {})
    out = {
        f"{kind}{end}": np.full((len(outputs), *s), np.nan)
        for kind, s in shapes.items()
        for end in ("", "_low", "_high")
    }
    used = np.zeros(len(outputs), dtype=np.int64)
    for i, name in enumerate(outputs):
        y = data[name].values.astype(float).reshape(-1, n)
        whole = np.isfinite(y).all(axis=0)
        used[i] = int(whole.sum())
        y = y[:, whole]
        if used[i] < 2 or np.var(y[:2]) == 0.0:
            continue
        rng = np.random.default_rng(seed)
        rows = [np.arange(used[i]), *rng.integers(0, used[i], (resamples, used[i]))]
        drawn = [_indices(y[0, r], y[1, r], y[2 : 2 + k, r], y[2 + k :, r]) for r in rows]
        for j, kind in enumerate(shapes):
            values = np.array([d[j] for d in drawn])
            out[kind][i] = values[0]
            out[f"{kind}_low"][i], out[f"{kind}_high"][i] = _ends(values[0], values[1:], used[i])
    dims = {2: ("output", "axis"), 3: ("output", "axis", "other")}
    found = {name: (dims[v.ndim], v, {"units": "1"}) for name, v in out.items()}
    others = {"other": axes} if design == SECOND else {}
    return _told(data, found | {"used": ("output", used)}, {"output": outputs} | others, samples=n)


def _ends(found: Array, resampled: Array, rows: int) -> tuple[Array, Array]:
    """Return the ends of an interval from values of resampled rows, shape (resamples, ...).

    Resampling does not see how evenly a sequence spreads the rows, and tells too little where they are few: the ends
    are moved out as Student's t with a 32nd of the rows as its freedom asks; set by trying, on the functions of the
    tests.
    """
    from scipy import stats

    low, high = np.percentile(resampled, (2.5, 97.5), axis=0)
    wide = float(stats.t.ppf(0.975, max(rows / 32.0, 2.0)) / stats.norm.ppf(0.975))
    return found - wide * (found - low), found + wide * (high - found)


def _with_units(data: xr.Dataset, outputs: Sequence[str]) -> dict[str, Any]:
    """Return the coordinates of outputs that are told in their own units."""
    return {"output": outputs, "units": ("output", [str(data[n].attrs.get("units", "")) for n in outputs])}


def _told(data: xr.Dataset, found: dict[str, Any], coordinates: dict[str, Any], **attributes: Any) -> xr.Dataset:
    """Return what was found of a study, over its axes."""
    import xarray as xr

    axes = {"axis": axes_of(data)}
    return xr.Dataset(found, axes | coordinates, {"title": data.attrs.get("title", ""), **attributes})


def _indices(a: Array, b: Array, a_with_b: Array, b_with_a: Array) -> tuple[Array, ...]:
    """Return first and total indices, and those of second order where B with a column of A is there.

    Parameters
    ----------
    a, b : array, shape (n,)
        Values at the matrices A and B.
    a_with_b, b_with_a : array, shape (axes, n)
        At A with a column of B, and at B with a column of A; the second may have no rows.
    """
    middle = 0.5 * (a.mean() + b.mean())
    a, b, a_with_b, b_with_a = a - middle, b - middle, a_with_b - middle, b_with_a - middle
    variance = np.var(np.concatenate([a, b]))
    first = np.mean(b * (a_with_b - a), axis=1) / variance
    total = 0.5 * np.mean((a - a_with_b) ** 2, axis=1) / variance
    if not len(b_with_a):
        return first, total
    both = (b_with_a @ a_with_b.T) / len(a) - np.mean(a * b)
    second = 0.5 * (both + both.T) / variance - first[:, None] - first[None, :]
    np.fill_diagonal(second, np.nan)
    return first, total, second


def elementary_effects(
    data: xr.Dataset, names: Sequence[str] | None = None, resamples: int = 500, seed: int = 0
) -> xr.Dataset:
    """Return the elementary effects of a study with the design "morris".

    Parameters
    ----------
    data : Dataset
        Of `gather`.
    names : sequence of str, optional
        Outputs; by default all that are one number for each case.
    resamples : int
        Of the paths, with replacement, for the intervals.
    seed : int

    Returns
    -------
    Dataset
        (output, axis), in the unit of the output for the whole range of probability of an axis: `mean`, `mean_size` (of
        absolute values; an axis that does nothing has 0) with the ends of its 95 % interval, `spread` (standard
        deviation: large where an axis acts otherwise here than there); `used` (output): paths without a missing value.

    Raises
    ------
    InputError
        If the design is another.

    Notes
    -----
    M. D. Morris, Technometrics 33 (1991), 161-174; the mean of sizes F. Campolongo, J. Cariboni, A. Saltelli, Environ.
    Model. Softw. 22 (2007), 1509-1518 (both from memory).
    """
    axes, outputs = axes_of(data), numbers_of(data, names)
    if data.attrs.get("design") != "morris":
        raise InputError(f"it needs design = \"morris\", not '{data.attrs.get('design')}'", "elementary_effects")
    k, paths = len(axes), int(data.attrs["samples"])
    moved = morris_moves(paths, k, int(data.attrs["seed"]))
    shape = (len(outputs), k)
    out = {n: np.full(shape, np.nan) for n in ("mean", "mean_size", "mean_size_low", "mean_size_high", "spread")}
    used = np.zeros(len(outputs), dtype=np.int64)
    rng = np.random.default_rng(seed)
    for i, name in enumerate(outputs):
        y = data[name].values.astype(float).reshape(paths, k + 1)
        effect = np.full((paths, k), np.nan)
        rows = np.arange(paths)
        for step in range(k):
            axis, size = moved.axis[:, step], moved.size[:, step]
            effect[rows, axis] = (y[:, step + 1] - y[:, step]) / size
        effect = effect[np.isfinite(effect).all(axis=1)]
        used[i] = len(effect)
        if not len(effect):
            continue
        sizes = np.abs(effect)
        out["mean"][i], out["mean_size"][i] = effect.mean(axis=0), sizes.mean(axis=0)
        if len(effect) > 1:
            out["spread"][i] = effect.std(axis=0, ddof=1)
            drawn = sizes[rng.integers(0, len(sizes), (resamples, len(sizes)))].mean(axis=1)
            out["mean_size_low"][i], out["mean_size_high"][i] = _ends(out["mean_size"][i], drawn, len(sizes))
    found = {n: (("output", "axis"), v) for n, v in out.items()}
    return _told(data, found | {"used": ("output", used)}, _with_units(data, outputs), samples=paths)
