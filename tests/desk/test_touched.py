"""What only a hand can do: edges and water that are drawn, files dropped, walls kept; and both units."""

import pytest
from desk_hands import Hands, complaints, wide
from selenium.webdriver.common.actions.action_builder import ActionBuilder
from selenium.webdriver.common.actions.pointer_input import PointerInput


@pytest.fixture(scope="module")
def hands(desk):
    wide(desk.driver, 1440)
    desk.driver.get_log("browser")
    desk.driver.get(desk.address)
    made = Hands(desk.driver, False)
    made.settled()
    yield made
    made.undo_all()
    assert complaints(desk.driver) == []


def drawn(hands, css, right):
    """Draw something along the wall."""
    it = hands.driver.find_element("css selector", css)
    finger = ActionBuilder(hands.driver, mouse=PointerInput("touch", "finger"), duration=20)
    finger.pointer_action.move_to(it).pointer_down().move_by(right // 2, 0).move_by(right - right // 2, 0).pointer_up()
    finger.perform()


def test_the_inner_edge_makes_a_layer_thicker(hands):
    hands.use("layer.5")
    hands.wait(lambda: hands.driver.find_elements("css selector", ".grip"))
    before = hands.state()["parts"][4]["mm"]
    hands.changed(lambda: drawn(hands, ".grip", 60))
    after = hands.state()["parts"][4]["mm"]
    assert after > before and after % 10 == 0  # on a round step
    hands.changed(lambda: hands.use("undo"))
    assert hands.state()["parts"][4]["mm"] == before
    hands.use("slip-part-away")


def test_the_water_is_drawn_into_another_layer(hands):
    hands.changed(lambda: drawn(hands, ".water", 250))
    assert [p["name"] for p in hands.state()["parts"] if p["wetted"]] == ["dense cellulose"]
    words = hands.driver.find_element("css selector", '[data-key="blank-layer"]').text
    assert words == "the dense cellulose"
    hands.changed(lambda: hands.use("undo"))


def test_a_gap_is_opened_to_the_air(hands):
    hands.use("layer.2")
    hands.changed(lambda: hands.use("airing"))
    state = hands.state()
    assert state["case"]["ventilated_gap"] == [{"layer": "air gap 25 mm", "air_changes": "50 1/h"}]
    assert state["trouble"] == []
    hands.changed(lambda: hands.use("undo"))
    hands.use("slip-part-away")


def test_both_units(hands):
    hands.use("blank-units")
    hands.changed(lambda: hands.use("choice-us"))
    hands.settled()
    sizes = hands.driver.execute_script("return [...document.querySelectorAll('.part .size')].map(s => s.textContent)")
    assert "7/16 in" in sizes
    page = hands.driver.find_element("css selector", "main").text
    assert "lb/ft" in page
    assert [line for line in page.splitlines() if "kg/m" in line or "°C" in line] == []
    hands.use("layer.6")
    hands.wait(lambda: hands.driver.find_elements("css selector", ".permeance"))
    assert "perm" in hands.driver.find_element("css selector", ".permeance figcaption").text
    hands.use("slip-part-away")
    hands.changed(lambda: hands.use("undo"))


def test_a_wall_that_is_kept_comes_back(hands):
    hands.settled()
    hands.use("keep")
    hands.wait(lambda: hands.there("back-1"), "the wall that is kept")
    before = hands.state()["case"]
    hands.use("layer.4")
    hands.changed(lambda: hands.use("out"))
    hands.changed(lambda: hands.use("back-1"))
    assert hands.state()["case"] == before
    hands.use("drop-1")
    hands.wait(lambda: not hands.there("back-1"), "it let go")


def test_files_are_dropped_on_the_desk(hands, desk):
    text = (desk.folder / "wall.toml").read_text(encoding="utf-8").replace("North wall", "Dropped wall")
    script = """const [name, text] = arguments, data = new DataTransfer();
        data.items.add(new File([text], name));
        document.dispatchEvent(new DragEvent('drop', {dataTransfer: data, bubbles: true, cancelable: true}))"""
    hands.changed(lambda: hands.driver.execute_script(script, "other.toml", text))
    assert hands.state()["title"].startswith("Dropped wall")
    version = hands.state()["version"]
    for name in ("wall.txt", "broken.toml"):
        hands.driver.execute_script("document.querySelector('#note')?.remove()")
        hands.driver.execute_script(script, name, "[[[ no wall")
        hands.wait(lambda: hands.driver.find_elements("css selector", "#note .flag"), name)
    assert hands.state()["version"] == version
    hands.driver.get_log("browser")  # a refusal is told there too
