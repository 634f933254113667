"""A desk and a browser, one of each for a worker."""

from collections.abc import Iterator
from types import SimpleNamespace

import pytest
from browser import axe, chromium  # noqa: F401 (fixtures)


@pytest.fixture(scope="session")
def desk(chromium, tmp_path_factory: pytest.TempPathFactory) -> Iterator[SimpleNamespace]:  # noqa: F811
    """A desk that is open in the browser, with the wall of `short_wall` on it."""
    from desk_hands import served

    folder = tmp_path_factory.mktemp("desk")
    (folder / "wall.toml").write_text(short_wall(), encoding="utf-8")
    with served(folder, "wall.toml") as address:
        driver = chromium(address)
        driver.set_script_timeout(600)
        yield SimpleNamespace(driver=driver, folder=folder, address=address.split("/enter")[0] + "/")


def short_wall() -> str:
    """Return the wall of the README over a hundred and twenty days, for a test that waits for answers.

    Where the pictures of the documentation are made it is the whole of its two years.
    """
    from desk_hands import PICTURES
    from drydown.examples import template

    text = template("wall")
    assert "years = 2" in text
    if PICTURES:
        return text
    lines = ["days = 120" if line.startswith("years = 2") else line for line in text.splitlines()]
    return "\n".join(lines).replace("start = 2021-10-01", "start = 2022-01-01") + "\n"
