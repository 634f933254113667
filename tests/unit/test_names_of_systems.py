"""Paths by the rules of Windows: names that are devices, drives, long paths, ends of lines."""

import ntpath
from pathlib import PureWindowsPath

import pytest
from drydown import systems


@pytest.mark.parametrize(
    ("path", "trouble"),
    [
        (r"C:\walls\north.toml", False),
        (r"\\server\share\wall.nc", False),
        (r"C:\walls\aux.nc", True),
        (r"C:\walls\COM1", True),
        (r"walls\north .", True),
        (r"walls\a?b.png", True),
        ("C:stream:other.nc", True),
        (r"walls\Küche süd.html", False),
    ],
)
def test_names_by_the_rules_of_windows(path, trouble):
    name = ntpath.basename(path)
    assert bool(systems.name_trouble(name)) == trouble
    assert PureWindowsPath(path).name == name or ":" in name


def test_what_windows_reserves_is_refused():
    for name in ("con", "NUL", "prn.txt", "LPT9.nc", "com5.toml"):
        assert systems.name_trouble(name), name
        reserved = getattr(ntpath, "isreserved", None)  # from Python 3.13 on
        assert reserved is None or reserved(name)


def test_a_temporary_name_may_stand_on_every_system_however_long_the_target(tmp_path):
    from drydown import files

    for name in ("a.nc", "x" * 240 + ".nc", "ä" * 110 + ".html", "no ending", "a.very-long-ending-indeed"):
        part = files.beside(tmp_path / name)
        assert not systems.name_trouble(part.name), part.name
        assert len(part.name) < 120 and part.parent == tmp_path
        files.write_text(tmp_path / name, "x")
        assert (tmp_path / name).read_text() == "x"
