"""What was asked beside the trial, as blocks of the page: calendar, drying reserve, spread, leaks, built-in water."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..wording.built_in import built_in_sentences
from ..wording.calendar import calendar_about, calendar_words, no_room
from ..wording.leaks import leak_sentences
from ..wording.page import FURTHER
from ..wording.reserve import reserve_words
from ..wording.uncertainty import spread_words

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure

    from ..trial.leaks import LeakBounds
    from ..trial.reserve import Reserve
    from ..trial.uncertainty import Spread


@dataclass(frozen=True)
class Further:
    """One more question and its answer.

    Parameters
    ----------
    head : str
    sentences : tuple of str
        One paragraph each.
    draw : callable, optional
        Of a width [in]; returns a figure.
    caption : str
        Of that figure.
    """

    head: str
    sentences: tuple[str, ...]
    draw: Callable[[float], Figure] | None = None
    caption: str = ""


def of_calendar(found: xr.Dataset) -> Further:
    """Return the block of a calendar of wettings, with its figure."""
    from ..figures.calendar import calendar_figure

    head, caption = FURTHER["calendar"]
    sentences = (calendar_about(found), *(f"{text}." for text in calendar_words(found)), *no_room(found))
    return Further(head, sentences, lambda width: calendar_figure(found, width), caption)


def of_reserve(found: Reserve) -> Further:
    """Return the block of a drying reserve."""
    return Further(FURTHER["reserve"][0], (reserve_words(found),))


def of_spread(found: Sequence[Spread], trial: xr.Dataset) -> Further:
    """Return the block of what the spread of the material data does."""
    return Further(FURTHER["spread"][0], tuple(f"{text.removesuffix('.')}." for text in spread_words(found, trial)))


def of_leaks(bounds: Sequence[LeakBounds]) -> Further:
    """Return the block of what leaking air can leave, by both models."""
    return Further(FURTHER["leaks"][0], tuple(leak_sentences(bounds)))


def of_built_in(found: xr.Dataset) -> Further:
    """Return the block of built-in water: dry by when, and to which side."""
    return Further(FURTHER["built in"][0], tuple(built_in_sentences(found)))
