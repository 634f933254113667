"""Pictures of the page at three widths, on paper, and of every figure, to be looked at.

    python benchmarks/screenshots.py [FOLDER]

Needs Chromium and chromedriver (Debian: chromium, chromium-driver) and selenium. The wall is the bundled example.
"""

from __future__ import annotations

import base64
import shutil
import sys
import tempfile
from importlib.resources import files
from pathlib import Path

from drydown.accessor import Plot
from drydown.casefile import read_case
from drydown.figures.courses import follow
from drydown.report import page
from drydown.trial.advice import advise
from drydown.trial.dryout import account, twins

WIDTHS = (360, 820, 1440)
#: Widths of figures [in]: a page, a phone.
FIGURES = {"wide": 8.6, "slim": 4.2}


def draw(folder: Path) -> Path:
    """Run the example, draw every figure, and write its page."""
    text = files("drydown").joinpath("templates/library_wall.toml").read_text(encoding="utf-8")
    (folder / "wall.toml").write_text(text, encoding="utf-8")
    case = read_case(folder / "wall.toml")
    reference, wetted = twins(case)
    trial = account(case, reference, wetted)
    of_run, of_trial = Plot(wetted), Plot(trial)
    for name, width in FIGURES.items():
        made = {
            "trial": of_trial.trial(width),
            "drying": of_trial.drying(width),
            "humidity": of_run.humidity(width),
            "months": of_run.months(width),
            "section": of_run.section(width=width),
            "moment": of_run.section(["2022-01-20T06:00", "2022-07-20T15:00"], width),
            "history": of_run.history("OSB", width),
            "depth": of_run.history(0.06, width),
            "budget": of_run.budget(width),
            "vapour": of_run.drying(width),
            "criteria": of_run.criteria(width=width),
        }
        for figure, drawn in made.items():
            drawn.savefig(folder / f"figure_{figure}_{name}.png", dpi=120)
            print(folder / f"figure_{figure}_{name}.png")
    path = folder / "wall.html"
    before = follow(reference).findings
    path.write_text(page(wetted, trial, case, None, before, advise(case)), encoding="utf-8")
    return path


def shoot(path: Path, folder: Path) -> None:
    """Photograph the page at every width, and print it."""
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium") or "chromium"
    with tempfile.TemporaryDirectory() as profile:
        for flag in (
            "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--hide-scrollbars",
            "--disable-background-networking", "--disable-component-update", "--disable-sync",
            f"--user-data-dir={profile}",
        ):  # fmt: skip
            options.add_argument(flag)
        driver = webdriver.Chrome(options=options, service=Service(shutil.which("chromedriver")))
        try:
            for width in WIDTHS:
                metrics = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 500}
                driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
                driver.get(path.resolve().as_uri())
                height = driver.execute_script("return document.documentElement.scrollHeight")
                clip = {"x": 0, "y": 0, "width": width, "height": height, "scale": 1}
                shot = driver.execute_cdp_cmd("Page.captureScreenshot", {"captureBeyondViewport": True, "clip": clip})
                (folder / f"page_{width}.png").write_bytes(base64.b64decode(shot["data"]))
                print(folder / f"page_{width}.png")
            paper = driver.execute_cdp_cmd("Page.printToPDF", {"printBackground": True, "preferCSSPageSize": True})
            (folder / "page.pdf").write_bytes(base64.b64decode(paper["data"]))
            print(folder / "page.pdf")
        finally:
            driver.quit()


def main() -> None:
    """Take the pictures into a folder."""
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else "screenshots")
    folder.mkdir(parents=True, exist_ok=True)
    shoot(draw(folder), folder)


if __name__ == "__main__":
    main()
