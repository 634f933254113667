"""Advice: what is tried, that nothing is advised which makes anything worse, and how it is ranked."""

from dataclasses import replace

import numpy as np
import pytest
from drydown import Assembly, Case, Initial, Layer, Numerics, Wetting
from drydown.plugins import climate, film, material
from drydown.sides.exposure import Exposure, Outdoor
from drydown.sides.indoor import Constant, FromOutdoor, Indoor
from drydown.trial.advice import Number, Tried, _helps, advise, risen, same_question
from drydown.trial.remedies import remedies

START = np.datetime64("2021-10-01", "s")


def wall(inner="polyethylene 0.15 mm", days=60, gap=True):
    parts = [
        Layer(material("fibre cement"), 0.008),
        *([Layer(material("air gap 25 mm"), 0.02, "gap")] if gap else []),
        film("weather-resistive membrane"),
        Layer(material("OSB"), 0.011),
        Layer(material("glass fibre batt"), 0.14),
        *([film(inner)] if inner else []),
        Layer(material("gypsum board"), 0.0125),
        film("latex paint"),
    ]
    return Case(
        Assembly(tuple(parts)),
        Outdoor(climate("fernmoor"), Exposure(azimuth=0.0)),
        Indoor(FromOutdoor()),
        START,
        START + np.timedelta64(days, "D"),
        (Wetting("OSB", 0.5, START + np.timedelta64(5, "D"), 21600.0),),
        Initial(283.15, 0.75),
        numerics=Numerics(tolerance=10.0, refine=0.4),
    )


def number(value, limit=1.0, verdict="fine", decides=True, name="mould"):
    return Number(name, f"the {name}", value, limit, verdict, decides)


def test_everything_a_builder_would_try_is_tried():
    found = remedies(wall())
    assert {r.kind for r in found} == {"water", "indoor air", "film", "gap", "insulation", "sheathing"}
    words = " | ".join(r.words for r in found)
    for said in (
        "class II,",
        "class III",
        "kraft",
        "40 mm of mineral wool",
        "80 mm",
        "plywood in place of OSB",
        "half",
    ):
        assert said in words
    assert "vapour-tight" not in words, "it has one"
    assert not [r for r in remedies(replace(wall(), wettings=())) if r.kind == "water"]


def test_a_change_changes_one_thing():
    case = wall()
    for remedy in remedies(case):
        new = remedy.apply(case)
        assert new != case
        assert (new.start, new.end, new.outside, new.initial) == (case.start, case.end, case.outside, case.initial)
        if remedy.kind != "water":
            assert new.wettings == case.wettings
    added = next(r for r in remedies(wall(gap=False)) if r.kind == "gap").apply(wall(gap=False))
    assert [p.name for p in added.assembly.parts[:3]] == ["fibre cement", "vented gap", "weather-resistive membrane"]
    outside = next(r for r in remedies(case) if r.kind == "insulation").apply(case)
    assert [p.name for p in outside.assembly.layers[:4]] == ["fibre cement", "gap", "insulation outside", "OSB"]


def test_dry_rooms_and_lighter_films_are_not_offered_where_they_are_there():
    dry = replace(wall(), inside=Indoor(Constant(294.15, 0.2)))
    assert not [r for r in remedies(dry) if r.kind == "indoor air"]


@pytest.mark.parametrize(
    ("before", "after", "worse"),
    [
        ((number(0.5),), (number(0.5005),), []),
        ((number(0.5),), (number(0.52),), ["the mould"]),
        ((number(0.5),), (number(0.4, verdict="watch"),), ["the mould"]),
        ((number(0.5), number(0.1, decides=False, name="look")), (number(0.4), number(0.2, name="look")), ["the look"]),
        ((), (number(0.9, verdict="watch", name="frost"),), ["the frost"]),
        ((), (number(0.1, name="frost"),), []),
    ],
)
def test_what_rises_is_named(before, after, worse):
    assert risen(before, after) == worse


def test_changes_rank_by_their_margin():
    def tried(words, *values):
        numbers = tuple(number(v, verdict="exceeded" if v > 1 else "fine", name=str(i)) for i, v in enumerate(values))
        return Tried(words, ("film",), 1, numbers, numbers)

    few, close, wide = tried("a", 1.5, 0.2), tried("b", 0.95, 0.2), tried("c", 0.6, 0.5)
    assert sorted((few, close, wide), key=Tried.rank) == [wide, close, few]
    assert wide.passes and not few.passes and few.exceeded == ("the 0",) and wide.load == pytest.approx(0.6)
    assert _helps(wide, few) and not _helps(few, few)


def test_another_climate_or_period_is_another_question():
    case = wall()
    assert same_question(case, replace(case, inside=Indoor(Constant(294.15, 0.4))))
    other = Outdoor(climate("saltreed"), Exposure(azimuth=0.0))
    assert not same_question(case, replace(case, outside=other))
    assert not same_question(case, replace(case, end=case.end - np.timedelta64(1, "D")))
    assert not same_question(case, replace(case, wettings=()))


@pytest.mark.slow
def test_nothing_is_advised_that_makes_anything_worse():
    case = wall()
    seen = []
    own = [("another climate", replace(case, outside=Outdoor(climate("saltreed"), Exposure(azimuth=0.0))))]
    advice = advise(case, own=own, progress=seen.append)
    assert seen[-1] == 1.0 and seen == sorted(seen)
    assert "another climate" not in [t.words for t in advice.tried]
    assert [t.rank() for t in advice.advised] == sorted(t.rank() for t in advice.advised)
    for t in advice.advised:
        for before, after in ((advice.now.dry, t.dry), (advice.now.wet, t.wet)):
            was = {n.criterion: n for n in before}
            assert all(n.value <= was[n.criterion].value + 1e-3 * n.limit for n in after if n.criterion in was), t.words
    less = next(t for t in advice.tried if t.kinds == ("water",))
    assert less.dry == advice.now.dry, "the dry wall is the same, whatever gets into it"
    if advice.smallest is not None:
        assert advice.smallest.passes and advice.smallest in advice.advised
    harmed = [t for t in advice.tried if not t.harmless]
    assert not {t.words for t in harmed} & {t.words for t in advice.advised}
