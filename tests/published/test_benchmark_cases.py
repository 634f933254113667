"""The validation, asserted: every case within its band, and the bands themselves, so that none widens unseen."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from benchmark_materials import EN15026
from drydown_validation.cases import CASES, NOT_RUN
from drydown_validation.report import About, Check, Outcome, text_table
from drydown_validation.runner import page, run_one

PAGES = Path(__file__).parents[2] / "docs/validation"

#: Case to its bands, in order, as (band, unit). 0.5 % or tighter; orders of convergence at least 1.9.
BANDS: dict[str, list[tuple[float, str]]] = {
    "en15026": [(0.5, "%"), (0.2, "%")] * 3,
    "hamstad-2": [(0.3, "%")] * 3,
    "hamstad-5": [(0.5, "%"), (0.5, "% RH"), (0.02, "K")],
    "hamstad-3": [(0.5, "%"), (0.5, "% RH"), (0.5, "%")],
    "roof-of-hamstad-1": [(0.05, "% RH"), (0.02, "K"), (0.5, "%")],
    "iso13788": [(0.5, "%"), (0.5, "g/m2")],
    "iso13786": [(0.5, "%"), (0.5, "%"), (0.5, "%"), (0.001, "W/(m2 K)"), (0.0005, "-")],
    "slab": [(0.5, "%")] * 4,
    "periodic-heat": [(0.1, "%")] * 2,
    "periodic-moisture": [(0.5, "%")] * 2,
    "freezing-front": [(0.5, "%")] * 3,
    "film": [(0.01, "%")] * 2,
    "multilayer": [(0.1, "%"), (0.1, "%"), (0.01, "K"), (0.1, "%")],
    "moisture-buffer": [(0.5, "%")] * 5,
    "manufactured-heat": [(1.9, "-")] * 4,
    "manufactured-moisture": [(1.9, "-")] * 4,
    "manufactured-coupled": [(1.9, "-")] * 4,
    "manufactured-contrast": [(1.9, "-")] * 2,
}


@pytest.mark.slow
@pytest.mark.parametrize("name", CASES)
def test_case_within_its_bands(name):
    outcome = run_one(name)
    print(text_table([outcome]))
    assert not outcome.failure, outcome.failure
    assert [(c.band, c.unit) for c in outcome.checks] == BANDS[name]
    assert all(c.at_least == name.startswith("manufactured") for c in outcome.checks)
    assert all(np.isfinite(c.error) for c in outcome.checks)
    assert outcome.passed, text_table([outcome])


def test_no_case_is_left_out_in_silence():
    assert set(BANDS) == set(CASES)
    assert all(len(why) > 20 for why in NOT_RUN.values())


def written() -> list[Outcome]:
    """What the page was made of."""
    plain = json.loads((PAGES / "validation.json").read_text(encoding="utf-8"))
    out = []
    for c in plain["cases"]:
        about = About(c["name"], c["title"], c["source"], c["reference"], c["remark"])
        checks = [{k: v for k, v in check.items() if k != "passed"} for check in c["checks"]]
        out.append(Outcome(about, tuple(Check(**check) for check in checks), c["seconds"], c["failure"]))
    return out


def test_page_is_what_the_command_writes():
    """docs/validation comes from `drydown validate --out docs/validation`, every case within its band."""
    outcomes = written()
    assert [o.about.name for o in outcomes] == list(CASES)
    assert (PAGES / "index.md").read_text(encoding="utf-8") == page(outcomes)
    for o in outcomes:
        assert o.passed and [(c.band, c.unit) for c in o.checks] == BANDS[o.about.name]
        assert (PAGES / f"{o.about.name}.png").stat().st_size > 5000


def test_a_figure_that_is_no_number_is_outside():
    assert not Check("x", float("nan"), 1.0).passed
    assert not Check("x", float("nan"), 1.9, at_least=True).passed
    assert not Check("x", 1.1, 1.0).passed and Check("x", -0.9, 1.0).passed
    assert not Check("x", 1.8, 1.9, at_least=True).passed
    assert not Outcome(About("a", "b", "c", "d"), (), 0.0).passed


def test_en15026_step_is_that_of_the_standard():
    """The step quoted, 42.9 to 128.3 kg/m3, follows from the retention curve at 50 % and 95 %."""
    p = -1000.0 * 461.5 * np.array([293.15, 303.15]) * np.log([0.50, 0.95])
    w = EN15026.storage(p)
    assert w == pytest.approx([42.9, 128.3], abs=0.2)
