"""A page in a real browser. Without Chromium these tests are skipped; where DRYDOWN_CI=1 is set they fail instead."""

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest

CI = os.environ.get("DRYDOWN_CI") == "1"
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


def lacking(what: str) -> None:
    """Skip where something is not installed; fail where it must be."""
    (pytest.fail if CI else pytest.skip)(what)


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


@pytest.fixture(scope="session")
def chromium(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Callable]:
    """Open a page in headless Chromium at a width; one browser is kept for each worker."""
    binary = shutil.which("chromium") or shutil.which("chromium-browser")
    runner = shutil.which("chromedriver")
    if not binary or not runner:
        lacking("needs chromium and chromedriver (on Debian: apt install chromium chromium-driver)")
    selenium = pytest.importorskip("selenium.webdriver") if not CI else __import__("selenium.webdriver").webdriver
    from selenium.webdriver.chrome.service import Service

    options = selenium.ChromeOptions()
    options.binary_location = binary
    profile = tmp_path_factory.mktemp("profile")
    for flag in (
        "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--hide-scrollbars",
        "--disable-background-networking", "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage",
        f"--user-data-dir={profile}",
    ):  # fmt: skip
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = selenium.Chrome(options=options, service=Service(runner))

    def opened(path: Path, width: int = 1440, height: int = 900, touch: bool = False):
        metrics = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": touch}
        driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
        driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
        driver.get_log("browser")
        driver.get(path.as_uri())
        return driver

    yield opened
    driver.quit()


@pytest.fixture(scope="session")
def axe() -> str:
    """The source of axe-core, from the file that DRYDOWN_AXE names."""
    path = os.environ.get("DRYDOWN_AXE", "")
    if not path:
        lacking("needs axe-core: npm pack axe-core, unpack it, and set DRYDOWN_AXE to its axe.min.js")
    return Path(path).read_text(encoding="utf-8")
