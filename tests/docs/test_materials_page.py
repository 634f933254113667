"""What docs/materials.md shows can be run as it stands."""

import re
import shlex
from pathlib import Path

import pytest
from drydown.catalogue import curves as catalogue_curves
from drydown.catalogue.file import read_catalogue
from drydown.materials import curves
from drydown.testing import check_catalogue, check_film, check_material

PAGE = Path(__file__).parents[2] / "docs" / "materials.md"


@pytest.fixture(scope="module")
def page():
    return PAGE.read_text(encoding="utf-8")


def block(page, language):
    return "\n".join(re.findall(rf"```{language}\n(.*?)```", page, re.S))


def test_the_catalogue_on_the_page(page, tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text(block(page, "toml"), encoding="utf-8")
    catalogue = read_catalogue(path)
    assert len(catalogue) == 4
    check_catalogue(catalogue)
    assert catalogue["reed panel, pressed"]().density == 260.0


def test_the_python_on_the_page(page):
    names = {}
    exec(compile(block(page, "python"), str(PAGE), "exec"), names)
    check_material(names["panel"])
    check_film(names["membrane"])


def test_the_commands_on_the_page_work(page, tmp_path, monkeypatch):
    from click.testing import CliRunner
    from drydown.cli import main

    monkeypatch.chdir(tmp_path)
    (tmp_path / "mine.toml").write_text(block(page, "toml"), encoding="utf-8")
    lines = [shlex.split(line.split("#")[0]) for line in re.findall(r"^    drydown (materials.*)$", page, re.M)]
    assert len(lines) == 7
    for line in lines:
        done = CliRunner().invoke(main, line)
        if "--check" in line:
            assert " checked: " in done.stdout and done.exit_code in (0, 1)
            continue
        assert done.exit_code == 0 and len(done.stdout.splitlines()) > 8
    assert (tmp_path / "spruce.png").stat().st_size > 20000


def test_the_keys_of_a_laminate_and_of_liquid_are_on_the_page(page):
    for key in ("outer_ply", "inner_ply", "drier_side", "above", "absorption", "capillary", "factor"):
        assert f"`{key}`" in page or f"`{key} = " in page


def test_every_family_is_on_the_page(page):
    families = [*catalogue_curves._STORAGE, *catalogue_curves._VAPOUR]
    missing = [name for name in families if name != "constant" and f"`{name}`" not in page]
    assert not missing
    assert curves.WOOD_TEMPERATURE_SHIFT == 1.33 and "1.33 for wood" in page
