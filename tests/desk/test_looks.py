"""Every state of the desk on a phone, a tablet and a large screen, light and dark: it fits, and all can use it.

With DRYDOWN_DESK_PICTURES=docs/desk the pictures of the documentation are made anew.
"""

from itertools import pairwise

import pytest
from desk_hands import PICTURES, Hands, complaints, picture, wide

SCREENS = [(400, 860), (900, 1100), (1440, 900)]


@pytest.fixture(scope="module")
def hands(desk):
    wide(desk.driver, 1440)
    desk.driver.get_log("browser")
    desk.driver.get(desk.address)
    made = Hands(desk.driver, False)
    made.settled()
    return made


def fits(driver, width):
    """No horizontal scroll, and nothing that is touched is too small to touch or lies under its like."""
    assert driver.execute_script("return document.documentElement.scrollWidth") <= width
    small = """return [...document.querySelectorAll('button, input, a, summary')].filter(b => {
        const r = b.getBoundingClientRect();
        return r.width > 0 && !b.closest('.unseen, .sentence, .foot, .skip') && !b.classList.contains('unseen')
          && Math.min(r.width, r.height) < 24; }).map(b => b.outerHTML.slice(0, 90))"""
    assert driver.execute_script(small) == []
    covered = """const boxes = [...document.querySelectorAll('.part, .joint')].map(b => b.getBoundingClientRect());
        let most = 0;
        boxes.forEach((a, i) => boxes.slice(i + 1).forEach(b => {
          const x = Math.min(a.right, b.right) - Math.max(a.left, b.left);
          const y = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
          if (x > 0 && y > 0) most = Math.max(most, Math.min(x, y)); }));
        return most"""
    assert driver.execute_script(covered) <= 4.0


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize(("width", "height"), SCREENS)
def test_axe_finds_nothing_and_everything_fits(hands, axe, width, height, dark):
    driver = hands.driver
    wide(driver, width, height, dark, touch=width == 400)
    hands.wait(lambda: driver.execute_script("return document.querySelector('.drawn').clientWidth") <= width)
    fits(driver, width)
    for opened in ("layer.6", "blank-orientation" if dark else "blank-place", "tool-open" if dark else "tool-save"):
        hands.use(opened)
        hands.wait(lambda: driver.find_elements("css selector", ".slip"), opened)
        assert driver.execute_script("return document.documentElement.scrollWidth") <= width
        driver.execute_script("document.querySelectorAll('details').forEach(d => { d.open = true; })")
        driver.execute_cdp_cmd("Runtime.evaluate", {"expression": axe})
        found = driver.execute_async_script("axe.run().then(arguments[0])")
        said = [(v["id"], v["help"], [n["html"][:160] for n in v["nodes"][:3]]) for v in found["violations"]]
        assert said == [], opened
        hands.use(f"slip-{ {'layer.6': 'part'}.get(opened, opened.split('-')[-1]) }-away")
        hands.wait(lambda: not driver.find_elements("css selector", ".slip"), "the slip put away")
    driver.execute_script("document.querySelectorAll('details').forEach(d => { d.open = false; })")
    assert complaints(driver) == []


def test_labels_stay_below_the_wall_when_only_the_height_changes(hands):
    """The wall is a share of the height of the window: what was placed below it lay over it."""
    below = """return Math.min(...[...document.querySelectorAll('.part')].map(b => b.getBoundingClientRect().top))
        - document.querySelector('.drawn .body').getBoundingClientRect().bottom"""
    for height in (600, 1000):
        wide(hands.driver, 1440, height)
        hands.wait(lambda: hands.driver.execute_script("return window.innerHeight") == height, "height", 20.0)  # noqa: B023
        hands.wait(lambda: 0 <= hands.driver.execute_script(below) < 60, "labels below the wall", 20.0)


def test_what_a_listener_hears(hands):
    """Names of controls, order of heads, a live region that tells what became of a change."""
    driver = hands.driver
    wide(driver, 1440)
    assert (
        driver.execute_script("return document.querySelectorAll('[role=status]')[0].getAttribute('aria-live')")
        == "polite"
    )
    heads = driver.execute_script(
        "return [...document.querySelectorAll('h1,h2,h3')].filter(h => h.textContent).map(h => +h.tagName[1])"
    )
    assert heads[0] == 1 and heads.count(1) == 1 and max(b - a for a, b in pairwise(heads)) <= 1
    names = driver.execute_script(
        "return [...document.querySelectorAll('.parts button')].map(b => b.ariaLabel || b.textContent)"
    )
    assert names[0] == "Put something in outside of spruce cladding" and "spruce cladding" in names[1]
    assert any("the water gets in here" in name for name in names)
    hands.use("layer.4")
    hands.changed(lambda: hands.use("thicker"))
    live = "return document.getElementById('live').textContent"
    hands.wait(lambda: "OSB" in driver.execute_script(live) or "dries" in driver.execute_script(live), "what was said")
    hands.settled()
    hands.wait(lambda: "The test:" in driver.execute_script(live), "the answer, said")
    hands.changed(lambda: hands.use("undo"))
    hands.use("slip-part-away")
    hands.settled()


def test_names_are_never_read_as_html(hands):
    """A title and a layer with signs of HTML in them stand there as they were written."""
    driver, evil = hands.driver, "<img src=x onerror=alert(1)> & <b>'wall'</b>"
    hands.write("title", evil)
    hands.changed(lambda: hands.press("\n"))
    hands.wait(lambda: driver.title.startswith(evil), "the title")
    assert driver.execute_script("return document.querySelectorAll('img, #top b').length") == 0
    hands.changed(lambda: hands.use("undo"))
    assert complaints(driver) == []


def test_pictures_of_the_states(hands):
    """The states that the documentation shows, each as a picture below 150 kB."""
    driver, made = hands.driver, {}
    wide(driver, 1440)
    hands.settled()
    made["desk"] = picture(driver, "desk", 1440, 900)
    hands.use("layer.6")
    hands.wait(lambda: driver.find_elements("css selector", ".found li"), "films")
    top = driver.execute_script("return document.getElementById('wall').getBoundingClientRect().top + scrollY")
    made["film"] = picture(driver, "film", 1440, 860, int(top) - 8)
    hands.use("slip-part-away")
    hands.use("blank-orientation")
    made["blank"] = picture(driver, "blank", 1440, 470)
    hands.use("slip-orientation-away")
    top = driver.execute_script("return document.getElementById('look').getBoundingClientRect().top + scrollY")
    made["inside"] = picture(driver, "inside", 1440, 900, int(top) - 8)
    if PICTURES:
        made |= changed_and_kept(hands)
    wide(driver, 400, 860, touch=True)
    made["phone"] = picture(driver, "phone", 400, 1400)
    wide(driver, 900, 1100, dark=True)
    made["dark"] = picture(driver, "dark", 900, 1180)
    wide(driver, 1440)
    for name, shot in made.items():
        assert 5_000 < len(shot) < 150_000, (name, len(shot))
    assert complaints(driver) == []


def changed_and_kept(hands):
    """Return pictures of what would change the wall, and of two walls side by side; the changes take a while."""
    hands.wait(lambda: hands.there("take-0"), "what would change it")
    made = {"change": section(hands, "change", 620)}
    hands.use("keep")
    hands.wait(lambda: hands.there("back-1"), "the first wall that is kept")
    hands.changed(lambda: hands.use("take-0"))
    hands.settled()
    hands.use("keep")
    hands.wait(lambda: hands.there("back-2"), "the second")
    made["beside"] = section(hands, "beside", 655)
    hands.use("drop-2")
    hands.wait(lambda: not hands.there("back-2"), "one let go")
    hands.use("drop-1")
    hands.changed(lambda: hands.use("undo"))
    hands.settled()
    return made


def section(hands, name, most):
    """Return a picture of a section of the page, as tall as it is up to a bound."""
    top, tall = hands.driver.execute_script(
        "const b = document.getElementById(arguments[0]).getBoundingClientRect(); return [b.top + scrollY, b.height]",
        name,
    )
    return picture(hands.driver, name, 1440, min(int(tall) + 24, most), int(top) - 12)
