"""What cup tests leave open, in words: the warnings of a fit."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..arrays import Array
from ..materials.model import REFERENCE_TEMPERATURE
from .cup import CupTest
from .families import Family

#: A parameter whose spread is more than this share of its prior's is one that the tests say little about.
LITTLE = 0.5


def doubts(
    tests: Sequence[CupTest],
    family: Family,
    theta: Array,
    covariance: Array,
    prior: Array,
    residuals: Array,
    warm: bool,
) -> tuple[str, ...]:
    """Return what the tests do not settle, one sentence each."""
    from scipy.stats import chi2

    out = []
    ranges = sorted({tuple(sorted(t.humidities)) for t in tests})
    k = len(theta)
    if len(ranges) <= 2 and k > 2:
        out.append(
            "two ranges of humidity, such as a dry cup and a wet cup, fix a level and a rise but no shape: where "
            f"between them the permeance rises is the assumption of the {family.name} family"
        )
    elif len(ranges) < k and not family.tie.size:
        out.append(
            f"{len(ranges)} ranges of humidity for the {k} parameters of the {family.name} family: the rest is its "
            "prior"
        )
    elif len(ranges) < 5 and family.tie.size:
        out.append(f"{len(ranges)} ranges of humidity for a spline: between them its smoothness decides")
    gaps = _uncovered(ranges)
    if gaps:
        text = " and ".join(f"{100 * a:.0f} to {100 * b:.0f} %" for a, b in gaps)
        out.append(f"no test covers {text} relative humidity: the curve there is extrapolated")
    vague = []
    if not family.tie.size and len(ranges) > 2:
        spread = np.sqrt(np.diag(covariance))
        vague = [n for n, s, p in zip(family.parameters, spread, prior[:, 1], strict=True) if s > LITTLE * p]
    if vague:
        out.append(f"the tests say little about {' and '.join(repr(n) for n in vague)}")
    free = len(tests) - k
    if free > 0:
        total = float(np.sum(residuals**2))
        if chi2.sf(total, free) < 0.01:
            out.append(
                f"the tests scatter {np.sqrt(total / free):.1f} times as much about the curve as their "
                "uncertainties allow: the family does not suit, or they are too small; the band is widened"
            )
    if len({t.turned for t in tests}) > 1:
        out.append(
            "tests with the one face to the cup and with the other are fitted as one curve; fit both directions "
            "(fit_directions, --directions) where the direction of flow may matter"
        )
    off = [abs(t.temperature - REFERENCE_TEMPERATURE) for t in tests]
    if max(off) > 3.0 and not warm:
        out.append(
            f"a test was made {max(off):.0f} K away from 23 degC and no temperature_factor is given: its permeance "
            "is taken as that at 23 degC"
        )
    return tuple(out)


def _uncovered(ranges: Sequence[tuple[float, ...]]) -> list[tuple[float, float]]:
    """Return the gaps of more than 2 % between 0 and 1 that no range covers."""
    gaps, reached = [], 0.0
    for low, high in ranges:
        if low > reached + 0.02:
            gaps.append((reached, low))
        reached = max(reached, high)
    if reached < 0.98:
        gaps.append((reached, 1.0))
    return gaps
