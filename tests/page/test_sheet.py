"""The first sheet prints on one side of A4 and of Letter, and the whole page on eight at most."""

import base64
import re
from types import SimpleNamespace

import pytest
from drydown.casefile.heading import Heading
from drydown.report.sheet import changed, sheet
from drydown.trial.advice import Advice, Number, Tried
from drydown.units import told_in

#: Paper [in].
PAPER = {"A4": (8.27, 11.69), "Letter": (8.5, 11.0)}
#: Points above which the answer of the first sheet must end: the paper less its margins of 12 mm.
STORY = SimpleNamespace(
    headline="It dries slowly.", lead=("1 kg/m² of water.",), outward=0.6, inward=0.4,
    facts=tuple((str(i), f"number {i}") for i in range(5)),
)  # fmt: skip


def advice(smallest=True):
    low, high = (
        Number("mould", "mould index", 1.0, 3.0, "fine", True),
        Number("mould", "mould index", 3.5, 3.0, "exceeded", True),
    )
    now = Tried("as it is", (), 0, (low,), (high,), 150.0, 0.3, 0.02)
    gap = Tried("a vented gap of 20 mm", ("gap",), 2, (low,), (low,), 90.0, 0.2, 0.01)
    tight = Tried("a tighter film, sd 100 m", ("film",), 2, (high,), (high,), float("nan"), 0.1, 0.4, ("mould index",))
    return Advice(now, (gap, tight), (gap,) if smallest else (), gap if smallest else None)


@pytest.mark.parametrize("paper", PAPER)
@pytest.mark.parametrize("which", ["trial", "run"])
def test_the_answer_fills_one_side_and_the_whole_at_most_eight(made, chromium, paper, which):
    driver = chromium(made.paths[which])
    width, height = PAPER[paper]
    margin = 12 / 25.4
    size = {"paperWidth": width, "paperHeight": height, "printBackground": True}
    edges = dict.fromkeys(("marginTop", "marginBottom", "marginLeft", "marginRight"), margin)
    printed = base64.b64decode(driver.execute_cdp_cmd("Page.printToPDF", {**size, **edges})["data"])
    pages = len(re.findall(rb"/Type\s*/Page\b(?!s)", printed))
    assert 2 <= pages <= 8
    try:
        driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
        driver.execute_cdp_cmd(
            "Emulation.setDeviceMetricsOverride",
            {"width": int(96 * (width - 2 * margin)), "height": 900, "deviceScaleFactor": 1, "mobile": False},
        )
        box = driver.execute_script(
            "const b = document.getElementById('answer').getBoundingClientRect();"
            "return [b.top + scrollY, b.bottom + scrollY]"
        )
        assert box[0] < 20 and box[1] < 96 * (height - 2 * margin), "the sheet is longer than one side"
        seen = driver.execute_script("return document.getElementById('answer').innerText")
        assert "Before you build" in seen and "builder" in seen
        if which == "trial":
            assert "12 Mill Lane" in seen and "What to change" in seen and "to scale" in seen
    finally:
        driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
        driver.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


def test_the_sheet_has_three_numbers_what_to_change_and_the_line():
    made = sheet("Wall", STORY, [], [], Heading(address="12 Mill Lane", line="sill"), advice())
    assert made.count("<dt>number") == 3
    assert "The smallest change that keeps every limit: a vented gap of 20 mm" in made
    assert "What to leave alone: a tighter film" in made
    assert "runs through the sill" in made and "12 Mill Lane" in made


def test_where_nothing_helps_the_sheet_says_keep_the_water_out():
    assert "keep the water out" in sheet("Wall", STORY, [], [], None, advice(smallest=False))
    assert "What to change" not in sheet("Wall", STORY, [], [])


def test_the_table_of_changes_says_what_gets_worse():
    html = changed(advice())
    assert html.count("<tr") == 4 and "still air" in html
    assert re.search(r'data-label="what gets worse">mould index', html)
    with told_in("US"):
        from drydown.text import told_html

        told = told_html(html)
    assert "a vented gap of 25/32 in" not in told and "mm" not in re.sub(r"<[^>]*>", "", told)
