"""Headless Chromium and axe-core. Where they are not there tests are skipped; with DRYDOWN_CI=1 they fail."""

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

CI = os.environ.get("DRYDOWN_CI") == "1"


def lacking(what: str) -> None:
    """Skip where something is not installed; fail where it must be."""
    (pytest.fail if CI else pytest.skip)(what)


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

    def opened(path: Path | str, width: int = 1440, height: int = 900, touch: bool = False):
        metrics = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": touch}
        driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
        driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
        driver.get_log("browser")
        driver.get(path if isinstance(path, str) else path.as_uri())
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
