"""The data of the page: quantised, in base64, small enough for many years."""

from __future__ import annotations

import base64
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from ..figures.balance import loads_of, ways_out
from ..figures.style import HIGH, LOW, MAP, edges_of
from ..text import day
from ..wording.page import WAYS
from .parts import Part, cells_of, layers_of

if TYPE_CHECKING:
    import xarray as xr

    from ..figures.courses import Followed

#: Most values of the map: time times cells. One byte each, four thirds in base64.
MOST = 1_600_000


def stretch_of(results: xr.Dataset) -> int:
    """Return the length of a stretch of the page [h]: a day where the run is longer than a season."""
    time = results["time"].values
    hours = float((time[-1] - time[0]) / np.timedelta64(1, "h"))
    mark = float((time[1] - time[0]) / np.timedelta64(1, "h"))
    choices: Sequence[int] = (24, 48, 168, 336, 732) if hours > 100 * 24 else (1, 3, 6, 24)
    cells = results.sizes["cell"]
    return next((h for h in choices if h >= mark and hours / h * cells <= MOST), max(choices[-1], round(mark)))


def encoded(values: np.ndarray, kind: str) -> str:
    """Return an array as base64 of little-endian numbers of a numpy kind, rounded where it is whole."""
    array = np.asarray(values)
    if kind[1] in "iu":
        limits = np.iinfo(kind)
        array = np.clip(np.rint(array), limits.min, limits.max)
    return base64.b64encode(np.ascontiguousarray(array.astype(kind)).tobytes()).decode("ascii")


def colours() -> str:
    """Return the 256 colours of the map as one string of hex digits."""
    import matplotlib as mpl

    table = np.rint(255 * mpl.colormaps[MAP](np.linspace(0.0, 1.0, 256))[:, :3]).astype(np.uint8)
    return str(table.tobytes().hex())


def flows(digest: xr.Dataset) -> tuple[list[dict[str, Any]], np.ndarray]:
    """Return the ways out and what leaves by each, mean of the last week, [g/(m2 d)], shape (time, way)."""
    ways = dict(ways_out(digest))
    rain = digest["rain_offered"].values - digest["rain_run_off"].values
    named: list[dict[str, Any]] = []
    sums = []
    for name, (outward, left) in ways.items():
        where = "top" if name.startswith("outer") else "bottom" if name.startswith("inner") else "gap"
        named.append({"name": WAYS.get(name, name), "where": where, "outward": outward})
        sums.append(left)
    if rain[-1] > 1e-9:
        named.append({"name": WAYS["rain"], "where": "top", "outward": True})
        sums.append(-rain)
    for name, brought in loads_of(digest).items():
        if name not in ways:
            named.append({"name": name, "where": "gap", "outward": True})
            sums.append(-brought)
    days = float(digest.attrs["stretch_hours"]) / 24.0
    width = max(1, round(7.0 / days))
    total = np.vstack([np.zeros(len(named)), 1e3 * np.stack(sums, axis=1)])
    first = np.maximum(np.arange(1, len(total)) - width, 0)
    return named, (total[1:] - total[first]) / (days * (np.arange(1, len(total)) - first))[:, None]


def pack(
    digest: xr.Dataset,
    parts: list[Part],
    events: Sequence[tuple[str, np.datetime64]] = (),
    followed: Followed | None = None,
    dry_mass: Mapping[str, float] | None = None,
) -> dict[str, Any]:
    """Return what the script of the page reads.

    Parameters
    ----------
    digest : Dataset
        Of `drydown.figures.digest`.
    parts : list of Part
    events : sequence of (str, datetime64)
        What happened when.
    followed : Followed, optional
        Of `drydown.figures.courses.follow`: what criteria with a column of their own find in each layer.
    dry_mass : mapping, optional
        Layer of wood -> dry mass [kg/m2].
    """
    humidity = 100.0 * digest["relative_humidity"].values
    temperature = digest["temperature"].values - 273.15
    width = digest["width"].values
    time = digest["time"].values
    cells = cells_of(digest)
    layers = layers_of(parts)
    mean = np.stack([np.average(humidity[:, c], axis=1, weights=width[c]) for c in cells], axis=1)
    warm = np.stack([np.average(temperature[:, c], axis=1, weights=width[c]) for c in cells], axis=1)
    wettest = np.stack([humidity[:, c].max(axis=1) for c in cells], axis=1)
    named, flow = flows(digest)
    edges = edges_of(digest)
    hours = float(digest.attrs["stretch_hours"])
    seconds = (time - time[0]) / np.timedelta64(1, "s")
    return {
        "start": str(time[0])[:16],
        "hours": hours,
        "n": len(time),
        "edges": [round(float(e), 3) for e in edges],
        "layers": [
            {
                "mark": p.mark,
                "name": p.name,
                "cells": [int(c[0]), int(c[-1]) + 1],
                "dry": (dry_mass or {}).get(p.name),
            }
            for p, c in zip(layers, cells, strict=True)
        ],
        "ways": named,
        "events": [
            {"words": words, "date": day(when), "at": int(np.searchsorted(seconds, _since(when, time[0]), "right")) - 1}
            for words, when in events
        ],
        "low": LOW,
        "high": HIGH,
        "colours": colours(),
        "humidity": encoded(2.0 * humidity, "<u1"),
        "wettest": encoded(2.0 * wettest, "<u1"),
        "mean": encoded(2.0 * mean, "<u1"),
        "temperature": encoded(10.0 * warm, "<i2"),
        "water": encoded(digest["layer_water"].values, "<f4"),
        "criteria": criteria_of(followed, [p.name for p in layers], time),
        "flow": encoded(flow, "<f4"),
    }


#: How a unit is shown beside the map: factor, unit, digits.
_UNITS = {"fraction": (100.0, " %", 0), "index": (1.0, "", 1), "d": (1.0, " days", 0)}


def criteria_of(followed: Followed | None, names: Sequence[str], time: np.ndarray) -> list[dict[str, Any]]:
    """Return what each deciding criterion with a column of its own finds in every layer, at the times of the page."""
    out = []
    for f in followed.findings if followed is not None else ():
        layers = followed.layers.get(f.criterion) if followed is not None else None
        if followed is None or f.screening or not f.terms.column or not layers:
            continue
        factor, unit, digits = _UNITS.get(f.unit, (1.0, f" {f.unit}" if f.unit != "1" else "", 1))
        at = np.clip(np.searchsorted(followed.time, time, side="right") - 1, 0, None)
        values = np.full((len(time), len(names)), np.nan)
        for j, name in enumerate(names):
            if name in layers:
                values[:, j] = factor * layers[name][at]
        packed = encoded(values, "<f4")
        out.append({"title": f.title, "unit": unit, "digits": digits, "values": packed})
    return out


def _since(when: np.datetime64, start: np.datetime64) -> float:
    return float((when - start) / np.timedelta64(1, "s"))
