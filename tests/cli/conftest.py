"""A small case file with its weather, and the command, for its tests."""

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result
from small_case import run_command, write_case


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder to work in, with the small case and its weather."""
    monkeypatch.chdir(tmp_path)
    write_case(tmp_path)
    return tmp_path


@pytest.fixture
def drydown() -> Callable[..., Result]:
    """Run the command with arguments, in this process."""
    return run_command
