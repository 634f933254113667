"""Criteria of damage: functions of a result Dataset, each with its source, its limits and where it is valid.

`assess(dataset)` asks every criterion that is installed (entry points `drydown.criteria`) and returns what each finds
at the worst place of the assembly.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from .model import VERDICTS, Criterion, Finding, Limit, Outcome, Place, check_names, chosen
from .reading import BLOCK, blocks, exposed, read_wall

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["Criterion", "Finding", "Limit", "Outcome", "Place", "assess", "catalogue", "counted", "exposed", "worst_of"]


def catalogue() -> dict[str, Criterion]:
    """Return our own criteria by name, in the order in which people read them."""
    from . import accumulation, condensation, corrosion, decay, frost, humidity, mould, wood

    ours = (
        mould.MOULD,
        wood.MOISTURE,
        wood.SATURATION,
        decay.DECAY,
        condensation.CONDENSATION,
        accumulation.ACCUMULATION,
        frost.FROST,
        corrosion.CORROSION,
        *humidity.RUNNING_MEANS,
    )
    return {criterion.name: criterion for criterion in ours}


def assess(
    dataset: xr.Dataset,
    limits: Mapping[str, float] | None = None,
    only: Sequence[str] | None = None,
) -> list[Finding]:
    """Ask criteria about a run.

    Parameters
    ----------
    dataset : Dataset
        Of `drydown.simulate`, in memory or opened from a file; a file is read once, in blocks.
    limits : mapping of str to float, optional
        Values [SI] by name instead of those the criteria bring; `drydown.casefile.limits` takes them from a case
        file.
    only : sequence of str, optional
        Names of the criteria to ask; default: all that are installed.

    Returns
    -------
    list of Finding
        One of each criterion, at the worst place of the assembly.

    Raises
    ------
    InputError
        If a criterion or a limit has no such name, or the Dataset is no result of a run.
    """
    from ..plugins import criteria, criterion

    asked: list[Any] = list(criteria().entries().values()) if only is None else [criterion(n, "criteria") for n in only]
    if limits:
        from .limits import known_limits

        check_names(limits, list(known_limits()))
    wall = read_wall(dataset)
    trackers = {}
    for one in asked:
        if isinstance(one, Criterion):
            trackers[one.name] = one.tracker(wall, chosen(one, limits))
            trackers[one.name].start()
    for block in blocks(dataset, wall, BLOCK) if trackers else ():
        for tracker in trackers.values():
            tracker.feed(block)
    return [
        one.finding(trackers[one.name].outcome()) if isinstance(one, Criterion) else one.judge(dataset, limits)
        for one in asked
    ]


def counted(findings: Sequence[Finding], wetted: Sequence[str] = ()) -> list[Finding]:
    """Return the findings that count in a verdict on the whole.

    Screening is left to the criteria that decide, and that free water stands in a layer is no finding where it was put
    there: `wetted` names the layers of wettings.
    """
    return [
        f
        for f in findings
        if not f.screening and not (f.criterion == "condensation" and f.place is not None and f.place.layer in wetted)
    ]


def worst_of(findings: Sequence[Finding], wetted: Sequence[str] = ()) -> str:
    """Return the worst verdict of those that count: 'exceeded', 'watch', 'fine' or 'not applicable'."""
    verdicts = [f.verdict for f in counted(findings, wetted)]
    return max(verdicts, key=VERDICTS.index, default="not applicable")
