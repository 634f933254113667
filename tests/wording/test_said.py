"""What is said, word for word, beside this file in `said/`: sentences are reviewed there and nowhere else.

`DRYDOWN_SAID=1 pytest tests/wording` writes them anew; the change is read in the diff.
"""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from drydown.criteria import Outcome, Place, catalogue
from drydown.trial.reserve import Reserve, Why
from drydown.wording import findings, verdict
from drydown.wording.answer import when_gone, which_way
from drydown.wording.reserve import reserve_answer
from drydown.wording.story import tell

SAID = Path(__file__).parent / "said"
WHEN = np.datetime64("2022-02-16T06", "s")
#: A value of each unit, and the facts that the sentences of our criteria ask for.
VALUES = {
    "index": (3.42, 3.0),
    "d": (112.0, 90.0),
    "fraction": (0.314, 0.30),
    "kg/m2": (0.62, 0.5),
    "kg/(m2 a)": (0.14, 0.1),
    "1/a": (7.0, 2.0),
    "h/a": (2710.0, 2500.0),
}
FACTS = {
    "meaning": "visible mould on up to 10 % of the surface",
    "class": "sensitive",
    "level": (0.18, "fraction"),
    "peak": (0.243, "fraction"),
    "peak_when": WHEN,
    "layer_mean": (0.217, "fraction"),
    "total": (131.0, "d"),
    "in_all": "; 131 days in all",
    "how": "on end",
    "end": "and then dries",
    "loss": (4.2, "number"),
    "dry": (163.0, "d"),
    "full": (0.66, "fraction"),
    "left": (0.03, "kg/m2"),
    "amount": (0.21, "kg/m2"),
    "more": "more",
    "times": "7 times",
    "stood": (0.31, "kg/m2"),
    "days": (44.0, "d"),
}


def check(name: str, lines: list[str]) -> None:
    path = SAID / f"{name}.txt"
    text = "\n".join(lines) + "\n"
    if os.environ.get("DRYDOWN_SAID"):
        path.write_text(text, encoding="utf-8")
    assert path.read_text(encoding="utf-8") == text


def found(name: str, case: str = "", verdict: str = "exceeded"):
    criterion = catalogue()[name]
    value, limit = VALUES[criterion.unit]
    what = {"mould": "inner face", "corrosion": "outer face"}.get(name, "outer 10 mm")
    what = "" if name in ("condensation", "free water left", "accumulation") else what
    outcome = Outcome(value, limit, verdict, Place("OSB", 0.045, what), WHEN, case=case, facts=FACTS)  # type: ignore[arg-type]
    return criterion.finding(outcome)


def test_every_case_of_every_criterion():
    lines = []
    for name, criterion in catalogue().items():
        lines += [f"== {name}", f"harm: {found(name).harm}; short: {found(name).short}; what: {found(name).what}"]
        lines += [f"{case} | {findings.sentence(found(name, case))}" for case in criterion.terms.cases]
        lines += [f"{case} means | {found(name, case).harm}" for case in criterion.terms.harms]
        assert not any("{" in line for line in lines)
    lines.append(findings.sentence(replace(found("mould"), terms=type(found("mould").terms)())))
    check("criteria", lines)


def trial(half: float, tenth: float, remaining: float, inward: float, doses: int = 1) -> xr.Dataset:
    attrs = {
        "days_to_50_percent_dry": half, "days_to_90_percent_dry": tenth, "remaining": remaining, "share_inward": inward,
        "amount": 1.0 * doses, "last_dose": 1.0, "began": "2022-01-15", "wetted_layers": "OSB",
        "counted_from": f"{2021 + doses}-01-15",
    }  # fmt: skip
    left = doses * (1.0 - remaining)
    return xr.Dataset(
        {
            "left": (("time", "way"), [[0.0, 0.0], [(1.0 - inward) * left, inward * left]]),
            "excess": ("time", [0.0, remaining * doses]),
            "excess_of_layer": (("time", "layer"), [[0.0, 0.0], [0.1, 0.2]]),
        },
        {
            "time": np.array(["2022-01-15", "2024-10-01"], dtype="datetime64[s]").astype("datetime64[ns]"),
            "layer": ["OSB", "cellulose"],
            "outward": ("way", [True, False]),
        },
        attrs,
    )


NAN = float("nan")
TRIALS = {
    "quickly": trial(12.0, 60.0, 0.0, 0.03),
    "slowly": trial(90.0, 240.0, 0.0, 0.5),
    "hardly": trial(200.0, 600.0, 0.05, 0.8),
    "in part": trial(200.0, NAN, 0.31, 0.7),
    "not": trial(NAN, NAN, 0.8, 0.2),
    # 82 % of what got in over three years has left; of the last dose, which the days are counted by, half
    "three doses": trial(NAN, NAN, 0.18, 0.4, doses=3),
}


def test_does_it_dry():
    lines = []
    for name, one in TRIALS.items():
        lines += [f"== {name}", verdict.does_it_dry(one), f"{when_gone(one)}.", f"{which_way(one)}."]
        for harmed in ([], ["wood moisture"], ["wood moisture", "decay"]):
            story = tell(one, [found(n) for n in harmed] or [found("mould", "none", "fine")], [])
            lines.append(f"page, {', '.join(harmed) or 'sound'} | {story.headline}")
    check("drying", lines)


def test_does_it_stay_sound():
    fine = [found("mould", "none", "fine")]
    wet = {case: [found("wood moisture", case)] for case in ("stays", "gains")}
    seasonal = [found("wood moisture", "seasonal", "watch")]
    near = [replace(found("wood moisture", "short", "watch"), value=40.0)]
    lines = [
        verdict.does_it_stay_sound(fine, fine),
        verdict.does_it_stay_sound(fine, fine, days=60.0),
        verdict.does_it_stay_sound(seasonal, seasonal),
        verdict.does_it_stay_sound(fine, [*seasonal, found("decay", "way", "watch")]),
        verdict.does_it_stay_sound(near, near),
        verdict.does_it_stay_sound(fine, wet["stays"]),
        verdict.does_it_stay_sound(seasonal, wet["stays"]),
        verdict.does_it_stay_sound(wet["gains"], wet["gains"]),
        verdict.does_it_stay_sound(wet["stays"], [*wet["stays"], found("decay"), found("mould")]),
        verdict.does_it_stay_sound([], [found("mould", "no surface", "not applicable")]),
        "== a run",
        verdict.is_it_sound(fine),
        verdict.is_it_sound(fine, days=60.0),
        verdict.is_it_sound([*seasonal, found("decay", "way", "watch")]),
        verdict.is_it_sound([*wet["stays"], found("mould")]),
        verdict.is_it_sound([found("mould", "no surface", "not applicable")]),
    ]
    check("soundness", lines)


@pytest.mark.parametrize("kind", ["criterion", "gain", "overflow", "full", "already"])
def test_reserve(kind):
    amount = 0.0 if kind == "already" else 0.21
    why = Why(kind, (found("mould"), found("decay")) if kind in ("criterion", "already") else ())
    base = replace(found("condensation"), value=amount, limit=0.1, verdict="exceeded" if amount == 0.0 else "fine")
    r = Reserve(
        amount, 1.05 * amount, why, "OSB", 1, 15, 3, np.datetime64("2022-01-15"), np.datetime64("2025-01-15"), (), base
    )
    check(f"reserve_{kind}", [reserve_answer(r)])


def test_one_number_is_not_written_like_its_limit():
    """A value past its limit reads past it: never '1 kg/m2, limit 1 kg/m2, exceeded'."""
    from drydown.criteria.model import figure

    assert figure(1.004, "kg/m2", 1.0) != figure(1.0, "kg/m2")
    assert figure(90.3, "d", 90.0) == "90.3 days"
    assert figure(0.2004, "fraction", 0.20) == "20.04 %" and figure(0.24, "fraction", 0.20) == "24 %"
