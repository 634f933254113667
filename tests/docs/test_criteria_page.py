"""The page on criteria: every criterion and limit stands there with its value, and its code runs."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import numpy as np
import pytest
from drydown.casefile.variants import change
from drydown.criteria import catalogue
from drydown.criteria.limits import RESERVE, known_limits, parse_limits
from drydown.wording.findings import sentence
from synthetic_results import results

PAGE = (Path(__file__).parents[2] / "docs/criteria.md").read_text(encoding="utf-8")


def code(language, containing):
    found = [b for b in re.findall(rf"```{language}\n(.*?)```", PAGE, re.S) if containing in b]
    assert len(found) == 1, containing
    return found[0]


def test_every_criterion_and_limit_stands_on_the_page_with_its_value():
    for criterion in catalogue().values():
        assert f"`{criterion.name}`" in PAGE
        for limit in (*criterion.limits, *RESERVE):
            said = re.search(rf"`{limit.name}` (-?[\d.]+)(?: (%|degC|kg/m2|d\b|h\b))?", PAGE)
            assert said, limit.name
            value, unit = float(said[1]), said[2]
            si = {"%": value / 100, "d": value * 86400, "h": value * 3600, "degC": value + 273.15}.get(unit, value)
            assert si == pytest.approx(limit.value), limit.name


def test_the_limits_shown_are_read():
    table = tomllib.loads(code("toml", "[limits]"))["limits"]
    assert set(parse_limits(table, "page")) == set(table) <= set(known_limits())


def test_the_variants_shown_can_be_made():
    data = {
        "layer": [{"material": str(i), "thickness": "1 mm"} for i in range(1, 9)],
        "wetting": [{"layer": "4"}],
    }
    shown = tomllib.loads(code("toml", "no leak"))["variant"]
    assert [len(change(data, table, "page")[0]["layer"]) for table in shown] == [8, 7, 9, 8]


def test_the_plugin_shown_works():
    scope: dict = {}
    exec(code("python", "class Hottest"), scope)
    glue = scope["catalogue"]()["glue"]
    data = results(20.0 + 60.0 * np.sin(np.arange(5000) / 100.0), 0.5)
    found = glue.judge(data)
    assert found.value == pytest.approx(80.0, abs=0.01) and found.verdict == "exceeded"
    assert glue.judge(data, {"glue_temperature": 363.15}).verdict == "fine"
    assert found.value_text == "80 degC" and sentence(found).startswith("It gets 80 degC hot in 'OSB'")
    assert float(glue.values(data)[100, 0]) == pytest.approx(float(data["temperature"][100, 0]) - 273.15)


def test_the_mould_class_can_be_said():
    data = results(np.full(5000, 20.0), 0.95)
    mould = catalogue()["mould"]
    own = data.assign_coords(mould_class_of_layer=("layer", ["very sensitive"] * data.sizes["layer"]))
    assert mould.judge(own).value > mould.judge(data).value > 1.0
