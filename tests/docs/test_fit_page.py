"""The page on loggers: its Python runs as printed, and finds what its readings were made with."""

import re
from pathlib import Path

import pytest

PAGE = Path(__file__).parents[2] / "docs/fit.md"


def test_the_python_of_the_page_finds_what_was_put_in():
    blocks = re.findall(r"```python\n(.*?)```", PAGE.read_text(encoding="utf-8"), flags=re.DOTALL)
    names: dict = {}
    for block in blocks:
        exec(compile(block, str(PAGE), "exec"), names)
    low, high = names["found"].interval(0)
    assert low < 3.0 < high and high < 1.5 * low
    assert names["inputs"][0].value(names["found"].z[0]) == pytest.approx(3.0, rel=0.2)
    assert names["found"].not_learned == ()
