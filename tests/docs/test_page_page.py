"""The page about the page: its commands have the options it names, and its Python runs."""

import re
from pathlib import Path

import pytest

TEXT = (Path(__file__).parents[2] / "docs/page.md").read_text(encoding="utf-8")


def test_options_exist():
    from click.testing import CliRunner
    from drydown.cli import main

    told = CliRunner().invoke(main, ["report", "--help"], prog_name="drydown").output
    for option in set(re.findall(r"`(--[a-z-]+)`", TEXT)):
        assert option in told
    assert (Path(__file__).parents[2] / "docs" / re.search(r"\((page\.png)\)", TEXT).group(1)).is_file()


@pytest.mark.slow
def test_python_runs(tmp_path, monkeypatch):
    from click.testing import CliRunner
    from drydown.cli import main

    monkeypatch.chdir(tmp_path)
    assert CliRunner().invoke(main, ["new", "wall.toml"], prog_name="drydown").exit_code == 0
    code = re.search(r"```python\n(.*?)```", TEXT, re.S).group(1)
    exec(compile(code, "page.md", "exec"), {})
    assert Path("wall.html").stat().st_size > 1e5
