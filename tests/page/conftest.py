"""A page in a real browser."""

from types import SimpleNamespace

import pytest
from browser import axe, chromium  # noqa: F401 (fixtures)

WALL = """
title = "Wall of the test, 'north' <b>"

[climate]
name = "fernmoor"

[outside]
orientation = "south-west"

[inside]
model = "normal occupancy"

[period]
start = 2021-12-01
days = 180

[start]
temperature = "10 degC"
humidity = "75 %"

[[layer]]
material = "spruce cladding"
thickness = "20 mm"

[[layer]]
material = "air gap 25 mm"
thickness = "25 mm"

[[layer]]
film = "weather-resistive membrane"

[[layer]]
material = "OSB"
thickness = "11 mm"

[[layer]]
material = "mineral wool"
thickness = "140 mm"

[[layer]]
film = "polyamide film 0.05 mm"

[[layer]]
material = "gypsum board"
thickness = "12.5 mm"

[[wetting]]
layer = "OSB"
amount = "0.8 kg/m2"
date = 2021-12-15
duration = "6 h"
"""


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> SimpleNamespace:
    """A page with a trial and one without, and the results they were made of."""
    import drydown.accessor  # noqa: F401 (results draw themselves)
    from drydown.casefile import read_case
    from drydown.casefile.heading import Heading
    from drydown.figures.courses import follow
    from drydown.report import page
    from drydown.trial.advice import Advice, Number, Tried
    from drydown.trial.dryout import account, twins
    from made_further import all_of_them

    folder = tmp_path_factory.mktemp("page")
    (folder / "wall.toml").write_text(WALL, encoding="utf-8")
    case = read_case(folder / "wall.toml")
    reference, wetted = twins(case)
    trial = account(case, reference, wetted)
    before = follow(reference).findings
    low = Number("mould", "mould index", 1.0, 3.0, "fine", True)
    high = Number("mould", "mould index", 3.5, 3.0, "exceeded", True)
    now = Tried("as it is", (), 0, (low,), (high,), 150.0, 0.3, 0.02)
    gap = Tried("the air gap 25 mm open at top and bottom", ("gap",), 2, (low,), (low,), 90.0, 0.2, 0.01)
    tight = Tried("a tighter film", ("film",), 2, (high,), (high,), float("nan"), 0.1, 0.4, ("mould index",))
    advice = Advice(now, (gap, tight), (gap,), gap)
    heading = Heading("SI", "12 Mill Lane, Fernmoor", "", "1 March 2022")
    whole = page(wetted, trial, case, None, before, advice, heading, all_of_them(trial))
    bare = page(reference)
    paths = {"trial": folder / "wall.html", "run": folder / "run.html"}
    paths["trial"].write_text(whole, encoding="utf-8")
    paths["run"].write_text(bare, encoding="utf-8")
    return SimpleNamespace(paths=paths, case=case, wetted=wetted, reference=reference, trial=trial, html=whole)
