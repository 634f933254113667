"""The page in a real browser: it loads alone, moves, reads out the numbers of the run, and fits every screen."""

import base64

import numpy as np
import pytest

WIDTHS = [360, 820, 1440]
BOTH = pytest.mark.parametrize("which", ["trial", "run"])


def text(driver, css):
    return driver.execute_script("return document.querySelector(arguments[0]).textContent", css)


def picture(driver):
    """Return what moves: the cursor, the date, the colours of the strip, the arrows."""
    return driver.execute_script(
        "return [document.getElementById('cursor').style.left, document.getElementById('date').textContent,"
        "Array.from(document.querySelectorAll('#cells rect')).map(r => r.getAttribute('fill')).join(),"
        "Array.from(document.querySelectorAll('[data-way] path')).map(p => p.getAttribute('d')).join()]"
    )


@BOTH
def test_loads_alone_and_without_errors(made, chromium, which):
    driver = chromium(made.paths[which])
    assert driver.get_log("browser") == []
    fetched = driver.execute_script("return performance.getEntriesByType('resource').map(e => e.name)")
    assert [name for name in fetched if not name.startswith("data:")] == []
    broken = "return Array.from(document.images).filter(i => !i.complete || i.naturalWidth === 0).length"
    assert driver.execute_script(broken) == 0
    assert len(driver.execute_script("return Array.from(document.images).map(i => i.src)")) >= 5
    assert driver.title.startswith("Wall of the test, 'north' <b>: does it dry?")


@BOTH
def test_the_slider_moves_the_picture(made, chromium, which):
    from selenium.webdriver.common.keys import Keys

    driver = chromium(made.paths[which])
    slider = driver.find_element("id", "time")
    first = picture(driver)
    slider.send_keys(Keys.END)
    last = picture(driver)
    assert all(a != b for a, b in zip(first, last, strict=True))
    slider.send_keys(Keys.HOME)
    assert driver.execute_script("return document.getElementById('time').value") == "0"
    slider.send_keys(Keys.ARROW_RIGHT)
    assert text(driver, "#date") == "2 December 2021"
    assert "2 December 2021" in slider.get_attribute("aria-valuetext")


def test_play_jumps_and_pointer(made, chromium):
    driver = chromium(made.paths["trial"])
    assert text(driver, "#date") == "15 December 2021"  # it opens where the water gets in
    play = driver.find_element("id", "play")
    moved = """
        const [done] = arguments, date = document.getElementById('date'), play = document.getElementById('play');
        const first = date.textContent;
        new MutationObserver(() => { if (date.textContent !== first) done([date.textContent, play.textContent]); })
            .observe(date, {childList: true, characterData: true, subtree: true});
        play.click();
    """
    driver.set_script_timeout(300)
    date, word = driver.execute_async_script(moved)  # told by the page at the moment when the date moves
    assert word == "Pause" and date != "15 December 2021"
    if play.text == "Pause":  # it has not come to the end meanwhile
        play.click()
    assert play.text == "Play"
    jumps = driver.find_elements("css selector", "[data-jump]")
    assert jumps[0].text == "water gets in"
    jumps[0].click()
    assert text(driver, "#date") == "15 December 2021"
    canvas = driver.find_element("id", "map")
    from selenium.webdriver import ActionChains

    ActionChains(driver).move_to_element(canvas).click().perform()
    days = made.wetted.sizes["time"] // 24
    assert driver.execute_script("return Number(document.getElementById('time').value)") == pytest.approx(
        days / 2, abs=1
    )


def test_the_map_is_drawn_from_the_humidity_of_the_run(made, chromium):
    """The colour at a place of the canvas is that of the hourly results there, in the published map."""
    import matplotlib as mpl

    driver = chromium(made.paths["trial"])
    pixels = """
        const c = document.getElementById('map'), p = c.getContext('2d');
        return arguments[0].map(([x, y]) => Array.from(
            p.getImageData(Math.floor(x * c.width), Math.floor(y * c.height), 1, 1).data))"""
    wetted = made.wetted
    edges = np.concatenate([[0.0], np.cumsum(wetted["width"].values)])
    days = 180
    spots, wanted = [], []
    # the widest cell of every layer, so that its middle lies well inside a row of pixels
    place, width = wetted["layer_of_cell"].values, wetted["width"].values
    widest = [int(np.argmax(np.where(place == name, width, 0.0))) for name in wetted["layer"].values]
    for day in (5, 60, 120, 170):
        for cell in widest:
            spots.append([(day + 0.5) / days, 0.5 * (edges[cell] + edges[cell + 1]) / edges[-1]])
            mean = wetted["relative_humidity"].values[24 * day + 1 : 24 * day + 25, cell].mean()
            wanted.append(mpl.colormaps["cividis_r"]((100 * mean - 30.0) / 70.0)[:3])
    found = np.array(driver.execute_script(pixels, spots), dtype=float)[:, :3] / 255.0
    assert np.max(np.abs(found - np.array(wanted))) < 0.02


def test_the_readout_is_the_run(made, chromium):
    """Temperature, humidity and water of every layer on a day, from the hourly results."""
    from selenium.webdriver.common.keys import Keys

    driver = chromium(made.paths["trial"])
    slider = driver.find_element("id", "time")
    slider.send_keys(Keys.HOME)
    for _ in range(40):
        slider.send_keys(Keys.ARROW_RIGHT)
    hours = slice(40 * 24 + 1, 41 * 24 + 1)
    wetted = made.wetted
    rows = driver.find_elements("css selector", "#layers tbody tr")
    assert len(rows) == 5
    for j, row in enumerate(rows):
        name = str(wetted["layer"].values[j])
        cells = np.flatnonzero(wetted["layer_of_cell"].values == name)
        width = wetted["width"].values[cells]
        humidity = 100 * wetted["relative_humidity"].values[hours][:, cells].mean(axis=0)
        warmth = wetted["temperature"].values[hours][:, cells].mean(axis=0) - 273.15
        shown = [cell.text for cell in row.find_elements("css selector", "td")]
        assert name in row.text
        top = humidity.max()
        assert shown[0] == ("wet" if top >= 95 else "damp" if top >= 80 else "dry")
        assert float(shown[1].split()[0].replace("−", "-")) == pytest.approx(
            np.average(warmth, weights=width), abs=0.11
        )
        assert float(shown[2].split()[0]) == pytest.approx(np.average(humidity, weights=width), abs=0.8)
        assert float(shown[3].split()[0]) == pytest.approx(top, abs=0.8)
        water = wetted["layer_water"].values[hours, j].mean()
        assert float(shown[4].split()[0]) == pytest.approx(water, abs=0.006)


def test_the_arrows_are_the_budget(made, chromium):
    """What leaves by each side is the mean of the week before, from the integrals of the run."""
    driver = chromium(made.paths["trial"])
    driver.execute_script(
        "const s = document.getElementById('time'); s.value = 150; s.dispatchEvent(new Event('input'))"
    )
    lines = [line.text for line in driver.find_elements("css selector", "#ways li")]
    v = made.wetted["vapour_passed"].values
    a, b = 144 * 24, 151 * 24
    outward = -1e3 * (v[b, 0] - v[a, 0]) / 7
    liquid = made.wetted["liquid_passed"].values
    inward = 1e3 * (v[b, -1] - v[a, -1] + liquid[b, -1] - liquid[a, -1]) / 7
    for words, wanted in (("to the outside, as vapour", outward), ("to the room", inward)):
        line = next(x for x in lines if words in x)
        assert float(line.splitlines()[1].split()[0]) == pytest.approx(abs(wanted), rel=0.02, abs=0.06)
        assert ("leaving" if wanted > 0 else "coming in") in line
    paths = driver.execute_script(
        "return Array.from(document.querySelectorAll('[data-way] path')).map(p => p.className.baseVal)"
    )
    assert paths[0] == ("leaves" if outward >= 0 else "enters")


TEXTS = """
const found = [];
const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
while (walker.nextNode()) {
  const node = walker.currentNode, holder = node.parentElement;
  if (!node.textContent.trim() || holder.closest('script,style,noscript,.skip,table.cards thead')) continue;
  if (holder.closest('details:not([open])') && !holder.closest('summary')) continue;
  const range = document.createRange();
  range.selectNodeContents(node);
  for (const r of range.getClientRects())
    if (r.width > 1 && r.height > 1 && getComputedStyle(holder).visibility !== 'hidden')
      found.push([node.textContent.trim().slice(0, 40), r.left, r.top + scrollY, r.right, r.bottom + scrollY]);
}
return found;"""


@BOTH
@pytest.mark.parametrize("width", WIDTHS)
def test_fits_the_screen(made, chromium, width, which):
    """No horizontal scroll, no text over text, no text cut by the edge."""
    driver = chromium(made.paths[which], width, touch=width < 500)
    for part in ("document.documentElement.scrollWidth", "document.body.scrollWidth"):
        assert driver.execute_script(f"return {part}") <= width
    texts = driver.execute_script(TEXTS)
    assert len(texts) > 100
    cut = [t[0] for t in texts if t[1] < -0.5 or t[3] > width + 0.5]
    assert cut == []
    texts.sort(key=lambda t: t[2])
    meet = []
    for i, a in enumerate(texts):
        for b in texts[i + 1 :]:
            if b[2] >= a[4]:
                break
            across = min(a[3], b[3]) - max(a[1], b[1])
            down = min(a[4], b[4]) - max(a[2], b[2])
            # line boxes are taller than their letters: a third of the lower line may overlap
            if across > 1.0 and down > 0.35 * min(a[4] - a[2], b[4] - b[2]):
                meet.append((a[0], b[0]))
    assert meet == []


@BOTH
def test_text_alternatives(made, chromium, which):
    driver = chromium(made.paths[which])
    alts = driver.execute_script("return Array.from(document.images).map(i => i.alt)")
    assert all(len(a) > 20 for a in alts)
    said = driver.find_element("id", "map").get_attribute("aria-label")
    for layer in ("spruce cladding", "OSB", "mineral wool", "gypsum board"):
        assert f"{layer}: wettest" in said
    section = driver.find_element("css selector", ".wall [role=img]").get_attribute("aria-label")
    assert section.startswith("Section, from outside to inside: spruce cladding, 20 mm")
    assert driver.execute_script("return document.documentElement.lang") == "en"
    levels = driver.execute_script("return Array.from(document.querySelectorAll('h1,h2,h3')).map(h => +h.tagName[1])")
    assert levels[0] == 1 and levels.count(1) == 1
    assert max(np.diff(levels)) <= 1
    unlabelled = driver.execute_script(
        "return Array.from(document.querySelectorAll('svg'))"
        ".filter(s => !s.closest('[aria-hidden=true],[role=img]')).length"
    )
    assert unlabelled == 0


@pytest.mark.parametrize("width", [360, 1440])
@BOTH
def test_axe_finds_nothing(made, chromium, axe, which, width):
    driver = chromium(made.paths[which], width)
    driver.execute_script("document.querySelectorAll('details').forEach(d => { d.open = true; })")
    driver.execute_cdp_cmd("Runtime.evaluate", {"expression": axe})
    found = driver.execute_async_script("axe.run().then(arguments[0])")
    said = [(v["id"], v["help"], [n["html"][:120] for n in v["nodes"][:3]]) for v in found["violations"]]
    assert said == []
    assert len(found["passes"]) > 15


def test_print(made, chromium):
    """On paper the controls are gone and what was folded is open."""
    driver = chromium(made.paths["trial"])
    pdf = base64.b64decode(driver.execute_cdp_cmd("Page.printToPDF", {"printBackground": True})["data"])
    assert pdf.startswith(b"%PDF")
    pages = pdf.count(b"/Type /Page\n") + pdf.count(b"/Type /Page ") + pdf.count(b"/Type/Page/")
    assert 3 <= pages <= 20
    assert driver.execute_script("return document.querySelectorAll('details:not([open])').length") == 0
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    for name in (".controls", "#time", "nav"):
        display = f"return getComputedStyle(document.querySelector('{name}')).display"
        assert driver.execute_script(display) == "none"


def test_without_script_the_answer_still_stands(made, chromium):
    driver = chromium(made.paths["trial"])
    driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        driver.refresh()
        heads = [h.text for h in driver.find_elements("css selector", "h1, h2")]
        assert "The figures" in heads and "Before you build" in heads
        assert not driver.find_element("id", "time").is_displayed()
        assert "needs JavaScript" in driver.find_element("css selector", "body").text
    finally:
        driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})
