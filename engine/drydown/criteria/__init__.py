"""Criteria of damage: functions of a result Dataset, each with its source, its limits and where it is valid.

`assess(dataset)` asks every criterion that is installed (entry points `drydown.criteria`) and returns what each finds
at the worst place of the assembly.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from .following import Followed, Followers, follow
from .model import VERDICTS, Criterion, Finding, LayerResult, Limit, Outcome, Place, Severity, Terms
from .reading import exposed
from .trial_water import of_trial

if TYPE_CHECKING:
    import xarray as xr

__all__ = [
    "Criterion",
    "Finding",
    "Followed",
    "Followers",
    "LayerResult",
    "Limit",
    "Outcome",
    "Place",
    "Severity",
    "Terms",
    "assess",
    "catalogue",
    "counted",
    "deciding",
    "exposed",
    "follow",
    "installed",
    "of_trial",
    "without_wetted",
    "worst_of",
]


def catalogue() -> dict[str, Criterion]:
    """Return our own criteria by name, in the order in which people read them."""
    from . import accumulation, condensation, corrosion, decay, frost, humidity, mould, wood

    ours = (
        mould.MOULD,
        wood.MOISTURE,
        wood.SATURATION,
        decay.DECAY,
        condensation.CONDENSATION,
        condensation.RESIDUE,
        accumulation.ACCUMULATION,
        frost.FROST,
        corrosion.CORROSION,
        *humidity.RUNNING_MEANS,
    )
    return {criterion.name: criterion for criterion in ours}


def installed(only: Sequence[str] | None = None) -> list[Any]:
    """Return the criteria that are installed, or those of some names.

    Parameters
    ----------
    only : sequence of str, optional
        Names; all by default.

    Raises
    ------
    InputError
        If none has a name.
    """
    from ..plugins import criteria, criterion

    return list(criteria().entries().values()) if only is None else [criterion(n, "criteria") for n in only]


def deciding(follows: str) -> list[Criterion]:
    """Return the installed criteria that decide and that something follows: ``"reserve"`` or ``"calendar"``.

    Parameters
    ----------
    follows : {'reserve', 'calendar'}
    """
    return [
        c for c in installed() if isinstance(c, Criterion) and not c.screening and getattr(c, f"in_{follows}", False)
    ]


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
        If a criterion or a limit has no such name, a limit cannot be (20 for 0.20), or the Dataset is no result of a
        run.
    """
    asked = installed(only)
    if limits is not None:
        from .limits import check_limits

        check_limits(limits)
    return follow(dataset, asked, limits).findings


def without_wetted(findings: Sequence[Finding], wetted: Sequence[str] = ()) -> list[Finding]:
    """Return findings, each at the worst place that counts.

    That free water stands in a layer where a trial put it says nothing: `wetted` names the layers of wettings, and they
    are left out of the findings that are not about them; the finding stays, of the other layers.

    Parameters
    ----------
    findings : sequence of Finding
    wetted : sequence of str
        Names of the layers of wettings.
    """
    return [f if f.wetted_counts else f.without(wetted) for f in findings]


def counted(findings: Sequence[Finding], wetted: Sequence[str] = ()) -> list[Finding]:
    """Return the findings that count in a verdict on the whole: screening is left to the criteria that decide.

    `wetted` as for `without_wetted`.

    Parameters
    ----------
    findings : sequence of Finding
    wetted : sequence of str
        Names of the layers of wettings.
    """
    return [f for f in without_wetted(findings, wetted) if not f.screening]


def worst_of(findings: Sequence[Finding], wetted: Sequence[str] = ()) -> str:
    """Return the worst verdict of those that count: 'exceeded', 'watch', 'fine' or 'not applicable'.

    Parameters
    ----------
    findings : sequence of Finding
    wetted : sequence of str
        Names of the layers of wettings.
    """
    verdicts = [f.verdict for f in counted(findings, wetted)]
    return max(verdicts, key=VERDICTS.index, default="not applicable")
