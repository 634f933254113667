"""What the page says beside the verdict: cautions, how well it was computed, captions."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from ..text import day, plain
from .verdict import QUICK

if TYPE_CHECKING:
    import xarray as xr

CAUTIONS = (
    "Damp can bring mould and rot, and rot can bring down what it holds up. If something is wet, stop the water first.",
    "The result is only as good as its inputs: the building, its workmanship, its weather and its use will differ.",
    "One dimension is all that is calculated. It sees no corners, studs, fixings, windows or leaks in "
    "three dimensions, "
    "and these are where buildings most often fail.",
    "Local codes, licensed practice and the instructions of the makers of the products come first.",
    "This page is no approval and no survey. Have someone who answers for it look at the building before it is closed.",
)
CARE = (
    "A calculation, not a promise: it is of one dimension, and only as good as what went in. Local codes and licensed "
    "practice come first."
)
READ_CAUTIONS = "before you build."
LOOK = (
    "Outside is above here, inside below, and time runs to the right. Move the line with the slider, the arrow keys or "
    "a finger."
)
PACE = (
    f"“Quickly” means that nine tenths of the water are gone within {QUICK:.0f} days, “slowly” within a year, “hardly” "
    "later. A side counts when a twentieth or more of the water leaves by it. The words are ours, not of a standard."
)
EACH_CHANGE = (
    "Each line has the same weather, the same water, and one thing different; it was run and judged anew. What is "
    "advised makes nothing that is judged worse, dry or wetted."
)
#: Cautions in the fewest words, for the sheet.
SHORT = (
    "A calculation of one dimension, not a promise: no corners, studs, fixings, windows or leaks in three dimensions. "
    "It is only as good as what went in.",
    "Damp can bring mould and rot, and rot can bring down what it holds up. Local codes and licensed practice come "
    "first; this sheet is no approval.",
)
SD = (
    "sd is the thickness of still air that would hold vapour back as much: 100 m lets next to nothing through, 0.2 m "
    "nearly everything."
)
EVERY_CRITERION = "Every criterion at its worst place"
AT_THE_CURSOR = "What each layer is like at the time of the cursor"
COLOURS = (
    "colours of humidity: cividis, made to be read by the colour-blind and in grey; Nuñez, Anderton and Renslow, 2018, "
    "PLoS ONE 13, e0199239"
)
ALONE = "This file needs no connection and sends nothing."
#: Captions of the figures.
CAPTIONS = {
    "trial": "Where the water went, and when.",
    "drying": "How much left to each side, month by month.",
    "section": "The section: temperature and humidity through it in the coldest and in the warmest month.",
    "months": "Humidity by depth and month; the outlined part is at 80 % or above.",
    "criteria": "Criteria of damage, each at its worst place.",
    "budget": "All of its water: what came, what went, what is stored.",
    "vapour": "Vapour leaving to each side, month by month.",
}
MORE = "Asked as well"
#: What may be asked beside the trial: head of its block, caption of its figure.
FURTHER = {
    "calendar": ("In which month is it worst?", "How long it takes to dry, by the month and the layer that gets wet."),
    "reserve": ("How much may get in every year?", ""),
    "spread": ("What if the materials differ?", ""),
    "leaks": ("What can leaking air leave?", ""),
    "built in": ("When has the water that was built in left?", ""),
}
#: Words of the ways out, for people.
WAYS = {
    "outer surface, vapour": "to the outside, as vapour",
    "inner surface": "to the room",
    "outer surface, air flow": "to the outside, carried by air",
    "inner surface, air flow": "to the room, carried by air",
    "rain": "rain taken up",
}


def unknown(told: str) -> str:
    """Return what is not known."""
    return f"Not known: {told}"


def warning(told: str) -> str:
    """Return a warning of a result."""
    return f"Warning: {told}."


def history(place: str) -> str:
    """Return the caption of the figure of one place."""
    return f"Humidity and temperature in {place}."


def not_judged(titles: Sequence[str]) -> str:
    """Return which criteria say nothing."""
    return f"Does not apply here, or could not be judged: {', '.join(titles)}."


def how_well(results: xr.Dataset, trial: xr.Dataset | None) -> list[str]:
    """Return how well a run was computed, in sentences."""
    closed = abs(float(results.attrs.get("water_closure_total", math.nan)))
    sentences = [
        "The water is counted, not estimated. Over the whole run, what came in equals what left and what stayed, "
        f"to within {power(closed)} kg/m²."
    ]
    if trial is not None:
        sentences.append(
            "The split between outward and inward comes from two runs, with the water and without it, and adds up to "
            f"what was put in to within {power(float(trial.attrs['closure_max']))} kg/m²."
        )
    sentences.append(
        "This says that the sums are right. It does not say that the building is: materials scatter, weather differs "
        "from year to year, and work on site is not perfect. Try other materials and another year before you rely on "
        "a close call."
    )
    return sentences


def power(value: float) -> str:
    """Return a small number as people write it: 4 × 10⁻¹⁴."""
    if not math.isfinite(value):
        return "an unknown amount"
    if value == 0.0:
        return "0"
    exponent = math.floor(math.log10(abs(value)))
    if -3 <= exponent < 4:
        return plain(value, 2)
    digits = str(exponent).translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))
    return f"{value / 10.0**exponent:.0f} × 10{digits}"


def map_in_words(digest: xr.Dataset, layers: Sequence[tuple[str, np.ndarray]]) -> str:
    """Return what the map shows, as a sentence for each layer: its name and its cells."""
    humidity = 100.0 * digest["relative_humidity"].values
    time = digest["time"].values
    out = [f"Map of relative humidity by depth and time, {day(time[0])} to {day(time[-1])}, outside above."]
    for name, cells in layers:
        rows = humidity[:, cells].max(axis=1)
        low, high = int(np.argmin(rows)), int(np.argmax(rows))
        out.append(
            f"{name}: wettest {rows[high]:.0f} % on {day(time[high])}, driest {rows[low]:.0f} % on {day(time[low])}."
        )
    return " ".join(out)
