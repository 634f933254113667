"""What each load of a run brought or took away, in the words that the load brings."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..case.load import LoadWords
from ..text import paragraph, plain

if TYPE_CHECKING:
    import xarray as xr


#: What went on into a neighbour is said from this share of what was brought on [-].
SAID_FROM = 1e-3


def words_of(results: xr.Dataset) -> list[LoadWords]:
    """Return the words of every load of a run; the usual ones for results that hold none."""
    usual = LoadWords()
    if "load_brought" not in results:
        return [usual._replace(silent_at_zero=str(n).startswith("air flow")) for n in results["load_term"].values]
    return [
        LoadWords(str(brought), str(took), str(refused), bool(silent))
        for brought, took, refused, silent in zip(
            results["load_brought"].values,
            results["load_took"].values,
            results["load_found_no_room"].values,
            results["load_silent_at_zero"].values,
            strict=True,
        )
    ]


def _passed_on(results: xr.Dataset) -> tuple[np.ndarray, np.ndarray]:
    """Return what of every load's water its neighbour took [kg/m2], and who that is; nothing where it is not told."""
    if "load_passed_on" not in results or "load_neighbour" not in results.coords:
        return np.zeros(results.sizes["load_term"]), np.full(results.sizes["load_term"], "")
    return results["load_passed_on"].values[-1], results["load_neighbour"].values


def brought(results: xr.Dataset) -> list[str]:
    """Return what loads and air flow brought into the wall by the end of a run, one line each; empty without any."""
    lines = []
    for name, water, refused, on, neighbour, words in zip(
        (str(x) for x in results["load_term"].values),
        results["load_water"].values[-1],
        results["load_refused"].values[-1],
        *_passed_on(results),
        words_of(results),
        strict=True,
    ):
        if name == "none" or (water == 0.0 and refused == 0.0 and words.silent_at_zero):
            continue
        text = f"{name}: {words.took if water < 0.0 else words.brought} {plain(abs(water))} kg/m2"
        if water > 0.0 and on > SAID_FROM * water:
            text += f", of which {plain(on)} kg/m2 found no room there and went on into '{neighbour}'"
        text += f"; {plain(refused)} kg/m2 {words.refused}" if refused > 0.0 else ""
        lines.append(text)
    for side, sign, where in (("outer surface", 1.0, "outside"), ("inner surface", -1.0, "the room")):
        carried = sign * float(results["convected_vapour_passed"].sel(interface=side).values[-1])
        if carried != 0.0:
            way = f"from {where}" if carried > 0.0 else f"to {where}"
            lines.append(f"air flow: carried {plain(abs(carried))} kg/m2 {way}")
    return [paragraph(line) for line in ["Loads, by the end of the run:", *(f"  {x}" for x in lines)]] if lines else []
