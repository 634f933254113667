"""A page that is turned, pressed and typed at before the server has told anything."""

from desk_hands import Hands, complaints, wide
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.keys import Keys

#: The first answers of the server are held back until `window.release()`.
HELD = """
  const fetched = window.fetch.bind(window);
  const free = new Promise((done) => { window.release = done; });
  window.fetch = async (...asked) => { await free; return fetched(...asked); };
"""


def test_nothing_breaks_before_the_wall_is_there(desk):
    driver = desk.driver
    wide(driver, 1440)
    driver.get_log("browser")
    held = driver.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": HELD})
    try:
        driver.get(desk.address)
    finally:
        driver.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", held)
    hands = Hands(driver, False)
    wide(driver, 400, touch=True)  # from upright to lying
    ActionChains(driver).key_down(Keys.CONTROL).send_keys("z").key_up(Keys.CONTROL).perform()
    ActionChains(driver).send_keys(Keys.ESCAPE).perform()
    driver.find_element("css selector", "body").click()
    wide(driver, 1440)
    assert driver.execute_script("return document.documentElement.dataset.version") is None  # nothing is drawn yet
    driver.execute_script("window.release()")
    hands.settled()
    assert len(driver.find_elements("css selector", ".part")) == len(hands.state()["parts"])
    assert complaints(driver) == []
