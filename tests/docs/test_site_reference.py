"""The reference names every public name, and links between the pages lead somewhere."""

from __future__ import annotations

import importlib
import re
from pathlib import Path

import pytest

DOCS = Path(__file__).parents[2] / "docs"
PAGES = [p for p in DOCS.rglob("*.md") if "_build" not in p.parts]


def documented():
    """Return the modules of the reference and the members that it takes of each; None: all."""
    found = {}
    for page in (DOCS / "reference").glob("*.md"):
        text = page.read_text(encoding="utf-8")
        for module, members in re.findall(r"automodule:: (\S+)\n   :members:(.*)", text):
            found[module] = [m.strip() for m in members.split(",") if m.strip()] or None
    return found


@pytest.mark.parametrize(
    "package",
    ["drydown"] + [f"drydown.{p}" for p in ("bench", "criteria", "materials.curves", "report", "study")],
)
def test_every_public_name_is_there(package):
    pages = documented()
    module = importlib.import_module(package)
    missing = []
    for name in module.__all__:
        value = getattr(module, name)
        home = getattr(value, "__module__", package)
        listed = [pages[m] for m in (package, home) if m in pages]
        if not name.startswith("_") and not any(names is None or name in names for names in listed):
            missing.append(name)
    assert not missing


def test_every_member_listed_exists_and_has_a_docstring():
    for module, members in documented().items():
        loaded = importlib.import_module(module)
        assert loaded.__doc__
        for name in members or ():
            assert getattr(loaded, name).__doc__, f"{module}.{name}"


def anchors(path):
    """Return the anchors of the headings of a page, as MyST makes them."""
    heads = re.findall(r"^#{1,3} (.+)$", path.read_text(encoding="utf-8"), re.M)
    return {re.sub(r"[^\w\- ]", "", head.lower()).strip().replace(" ", "-") for head in heads}


@pytest.mark.parametrize("path", PAGES, ids=lambda p: str(p.relative_to(DOCS)))
def test_links_lead_somewhere(path):
    for target in re.findall(r"\]\(([^)\s]+)\)", path.read_text(encoding="utf-8")):
        if "://" in target:
            continue
        file, _, anchor = target.partition("#")
        there = (path.parent / file) if file else path
        assert there.is_file(), f"{path.name}: {target}"
        if anchor and there.suffix == ".md":
            assert anchor in anchors(there), f"{path.name}: {target}"
