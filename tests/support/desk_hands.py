"""Hands on the desk: a server, and what a finger and a keyboard do to its page."""

import base64
import json
import os
import re
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from selenium.common.exceptions import StaleElementReferenceException, WebDriverException
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.actions.action_builder import ActionBuilder
from selenium.webdriver.common.actions.pointer_input import PointerInput
from selenium.webdriver.common.keys import Keys

#: Where the pictures of the documentation go; empty: they are only looked at.
PICTURES = os.environ.get("DRYDOWN_DESK_PICTURES", "")
START = "from drydown.cli import main; main()"


@contextmanager
def served(folder: Path, *args: str) -> Iterator[str]:
    """Start a desk in a folder; yield the address that lets one in."""
    environment = {**os.environ, "DRYDOWN_DESK_STATE": str(folder / "state"), "XDG_STATE_HOME": str(folder / "state")}
    command = [sys.executable, "-c", START, "desk", *args, "--port", "0", "--no-browser"]
    process = subprocess.Popen(command, cwd=folder, env=environment, stdout=subprocess.PIPE, text=True)
    try:
        line = process.stdout.readline()
        found = re.search(r"http://\S+", line)
        assert found, line
        yield found[0]
    finally:
        process.terminate()
        process.wait(600)


class Hands:
    """What one does on the page, by touch or by keys, as people do: nothing is set by script.

    Parameters
    ----------
    driver : WebDriver
    keys : bool
        By keyboard alone.
    """

    def __init__(self, driver, keys: bool) -> None:
        self.driver, self.keys = driver, keys

    # what is seen

    def key(self, name: str):
        return self.driver.find_element("css selector", f'[data-key="{name}"]')

    def there(self, name: str) -> bool:
        return bool(self.driver.find_elements("css selector", f'[data-key="{name}"]'))

    def wait(self, seen, what: str = "", seconds: float = 600.0):
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            try:
                found = seen()
            except (StaleElementReferenceException, WebDriverException):
                found = None
            if found:
                return found
            time.sleep(0.03)
        raise AssertionError(f"waited in vain for {what or seen}")

    def ask(self, path: str):
        """Return what the server says, fetched by the page itself."""
        script = "const [p, done] = arguments; fetch(p).then(r => r.json()).then(done, () => done(null))"
        return self.driver.execute_async_script(script, path)

    def state(self) -> dict:
        return self.ask("/api/state")

    def version(self) -> int:
        """Return which version of the wall the page shows."""
        return int(self.driver.execute_script("return document.documentElement.dataset.version || 0"))

    def parts(self) -> list[str]:
        script = "return [...document.querySelectorAll('.part .name')].map(n => n.lastChild.textContent.trim())"
        return self.driver.execute_script(script)

    def focused(self) -> str:
        return self.driver.execute_script("return document.activeElement.dataset.key || ''")

    def settled(self) -> dict:
        """Wait until the answer on the page is that of the wall on the page; return it."""
        fresh = "#answer:not(.stale) .headline:not(.none)"
        self.wait(lambda: self.driver.find_elements("css selector", fresh), "an answer")
        return self.ask("/api/answer")

    # what is done

    def touch(self, element) -> None:
        """Touch an element with a finger: pointer events of a touch at its middle."""
        self.driver.execute_async_script(
            "const [at, done] = arguments; at.scrollIntoView({block: 'center'});"
            "requestAnimationFrame(() => requestAnimationFrame(done))",  # a finger finds what the eye has seen
            element,
        )
        finger = ActionBuilder(self.driver, mouse=PointerInput("touch", "finger"), duration=0)
        finger.pointer_action.move_to(element).pointer_down().pointer_up()
        finger.perform()

    def press(self, *keys: str) -> None:
        """Press keys one after the other, those that modify held down until the end."""
        held = [key for key in keys if key in (Keys.CONTROL, Keys.SHIFT, Keys.ALT)]
        chain = ActionChains(self.driver, duration=0)
        for key in held:
            chain.key_down(key)
        for key in keys:
            if key not in held:
                chain.send_keys(key)
        for key in held:
            chain.key_up(key)
        chain.perform()

    def go(self, name: str) -> None:
        """Come to a control by keys: along the wall by arrows, elsewhere by Tab."""
        for _ in range(150):
            here = self.focused()
            if here == name:
                return
            along = re.compile(r"layer\.\d+$|gap:\d+$")
            if along.match(here) and along.match(name):
                self.press(Keys.ARROW_RIGHT if _place(name) > _place(here) else Keys.ARROW_LEFT)
            else:
                self.press(Keys.TAB)
        raise AssertionError(f"no way by keys to {name}; at {self.focused()!r}")

    def use(self, name: str) -> None:
        """Touch a control, or come to it and press Enter."""
        self.wait(lambda: self.there(name), name)
        if self.keys:
            self.go(name)
            self.press(Keys.ENTER)
        else:
            for _ in range(20):  # it may be drawn anew meanwhile
                try:
                    return self.touch(self.key(name))
                except StaleElementReferenceException:
                    continue

    def write(self, name: str, text: str) -> None:
        self.wait(lambda: self.there(name), name)
        if self.focused() != name:
            self.go(name) if self.keys else self.touch(self.key(name))
        self.wait(lambda: self.focused() == name, name)
        self.press(Keys.CONTROL, "a")
        self.press(text)

    def changed(self, act) -> None:
        """Do something and wait until the page shows the state that came of it."""
        before = self.version()
        act()
        self.wait(lambda: self.version() > before, "a new state")

    def away(self) -> None:
        """Wait until what was open is put away."""
        self.wait(lambda: not self.driver.find_elements("css selector", ".slip"), "the slip put away")

    def put_in(self, number: int, name: str) -> None:
        """Put a material or film in before a place of the wall."""
        self.use("next" if self.there("next") else f"gap:{number}")
        self.write("finder", name)
        best = f'.found[data-of="{name}"] li[data-name="{name}"]'
        self.wait(lambda: self.driver.find_elements("css selector", best), name)
        if self.keys:
            first = "return document.querySelector('.found li[aria-selected=true]')?.dataset.name"
            for _ in range(15):
                if self.driver.execute_script(first) == name:
                    break
                self.press(Keys.ARROW_DOWN)
            self.changed(lambda: self.press(Keys.ENTER))
        else:
            self.changed(lambda: self.touch(self.driver.find_element("css selector", best)))
        self.wait(lambda: self.there("out"), "the slip of what was put in")

    def thick(self, value: str) -> None:
        """Write a thickness, where it is not there already."""
        shown = "return document.querySelector('[data-key=thickness]').value"
        if value != self.driver.execute_script(shown):
            self.write("thickness", value)
            self.changed(lambda: self.press(Keys.ENTER))

    def say(self, blank: str, choice: str) -> None:
        """Put something else in a blank of the question."""
        self.use(f"blank-{blank}")
        if self.keys:
            self.wait(lambda: self.focused().startswith("choice-"), "a choice")
            for _ in range(30):
                if self.focused() == f"choice-{choice}":
                    break
                self.press(Keys.ARROW_DOWN)
            self.changed(lambda: self.press(Keys.ENTER))
        else:
            self.changed(lambda: self.use(f"choice-{choice}"))
        self.away()

    def undo_all(self) -> None:
        can = "return !document.querySelector('[data-key=undo]').disabled"
        while self.driver.execute_script(can):
            if self.keys:
                self.changed(lambda: self.press(Keys.CONTROL, "z"))
            else:
                self.changed(lambda: self.use("undo"))


def _place(name: str) -> float:
    kind, number = re.split(r"[.:]", name)
    return int(number) - (0.5 if kind == "gap" else 0.0)


def wide(driver, width: int, height: int = 900, dark: bool = False, touch: bool = False) -> None:
    """Set the screen."""
    metrics = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": touch}
    driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    scheme = [{"name": "prefers-color-scheme", "value": "dark" if dark else "light"}]
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": scheme})
    driver.execute_cdp_cmd("Emulation.setTouchEmulationEnabled", {"enabled": touch, "maxTouchPoints": 1})


def picture(driver, name: str, width: int, tall: int, top: int = 0) -> bytes:
    """Return a picture of a stretch of the page, kept where DRYDOWN_DESK_PICTURES says."""
    clip = {"x": 0, "y": top, "width": width, "height": tall, "scale": 1}
    asked = {"format": "webp", "quality": 80, "captureBeyondViewport": True, "clip": clip}
    shot = base64.b64decode(driver.execute_cdp_cmd("Page.captureScreenshot", asked)["data"])
    if PICTURES:
        Path(PICTURES).mkdir(parents=True, exist_ok=True)
        (Path(PICTURES) / f"{name}.webp").write_bytes(shot)
    return shot


def complaints(driver) -> list[str]:
    """Return what the browser complained of."""
    return [json.dumps(entry) for entry in driver.get_log("browser")]
