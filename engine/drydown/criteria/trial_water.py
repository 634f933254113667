"""What of a finding is due to the water of a trial: told by the run without it beside the run with it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from .finding import Finding, LayerResult

#: Two judged numbers that differ by no more than this share of their limit are the same: so much may hang on the mesh.
SAME = 0.02
#: The water of a trial is what passes a limit where it adds more than this share of it (assumed).
ADDED = 0.5


def of_trial(
    before: Sequence[Finding], after: Sequence[Finding], wetted: Sequence[str]
) -> tuple[list[Finding], list[Finding]]:
    """Return findings without a wetting and with it, each knowing what is of the wetting.

    Free water: without the wetting none is of it, and what stands in the layer that the trial wets counts like any
    other. With it, it counts where the layer is beyond its limit without the wetting already.

    Damp of a season (`Terms.of_water`): one run alone cannot tell it from what a leak left behind. What is passed
    without the wetting as well, by the same number, is not held against it; what the wetting adds is no season.

    Parameters
    ----------
    before, after : sequence of Finding
        Without the water and with it.
    wetted : sequence of str
        Names of the layers of wettings.
    """
    without = {f.criterion: {r.layer: r for r in f.by_layer} for f in before}

    def judged(f: Finding) -> Finding:
        rows = without.get(f.criterion, {})
        if not f.wetted_counts:
            own = [name for name in wetted if name not in rows or rows[name].verdict != "exceeded"]
            f = replace(f.without(own), wetted_counts=True)
        return f.with_rows([_told(f, row, rows.get(row.layer)) for row in f.by_layer])

    return [replace(f, wetted_counts=True) for f in before], [judged(f) for f in after]


def _told(f: Finding, row: LayerResult, dry: LayerResult | None) -> LayerResult:
    """Return what is said of a layer with the water, by what is found there without it."""
    if dry is None:
        return row
    same = row.value <= dry.value + SAME * row.limit
    if f.terms.of_water.get(dry.case) == row.case and same:
        return replace(row, verdict=dry.verdict, case=dry.case)
    added = row.value > row.limit >= dry.value and row.value - dry.value > ADDED * row.limit
    if row.case in f.terms.of_water and added:
        return replace(row, verdict="exceeded", case=f.terms.of_water[row.case])
    return row
