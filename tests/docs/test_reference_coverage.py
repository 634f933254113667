"""The reference is complete: every public function and method tells its parameters with types, and what comes back."""

from __future__ import annotations

import dataclasses
import inspect
import re
from importlib import import_module
from pathlib import Path
from types import FunctionType

import pytest

NAMES = (Path(__file__).parents[1] / "contract" / "public_names.txt").read_text().split()


def public_functions():
    """Return every public function, and every public method and property of every public class, by its full name."""
    found = {}
    for full in NAMES:
        room, _, name = full.rpartition(".")
        thing = getattr(import_module(room), name)
        if isinstance(thing, FunctionType):
            found[f"{thing.__module__}.{thing.__qualname__}"] = thing
        elif isinstance(thing, type):
            for part, value in vars(thing).items():
                inner = value.__func__ if isinstance(value, classmethod | staticmethod) else value
                if isinstance(inner, property):
                    inner = inner.fget
                if (
                    isinstance(inner, FunctionType)
                    and not part.startswith("_")
                    and inner.__module__ == thing.__module__
                ):
                    found[f"{inner.__module__}.{inner.__qualname__}"] = inner
    return found


def sections(text):
    """Return the sections of a numpydoc docstring by their headings."""
    parts = re.split(r"^(\w[\w ]*)\n-{3,}\n", inspect.cleandoc(text or ""), flags=re.M)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def told(body):
    """Return the names that a section of parameters lists, each with a type behind a colon, or told "As" elsewhere."""
    names, lines = set(), body.splitlines()
    for line, after in zip(lines, [*lines, ""][1:], strict=True):
        if line and not line[0].isspace() and (" : " in line or re.match(r"\s+(As|Further)\b", after)):
            names |= {n.strip(" *") for n in line.partition(" : ")[0].split(",")}
    return names


def lacks(function):
    """Return what the docstring of a function leaves out."""
    given = [p for p in inspect.signature(function).parameters.values() if p.name not in ("self", "cls")]
    parts = sections(function.__doc__)
    missing = [p.name for p in given if p.name.strip("_") not in told(parts.get("Parameters", ""))]
    if re.search(r"\b(as|see|found as) `[\w.]+`", function.__doc__ or ""):
        missing = []  # told there
    returns = inspect.signature(function).return_annotation
    back = returns in (None, "None", inspect.Signature.empty) or "Returns" in parts or "Yields" in parts
    first = (function.__doc__ or "").strip().split("\n")[0]
    said = back or (first[:1].isupper() and len(first) > 10)  # the first line says what it returns
    return missing + ([] if said else ["what it returns"])


@pytest.mark.parametrize("name", public_functions())
def test_every_parameter_is_told(name):
    assert lacks(public_functions()[name]) == []


def test_every_field_of_a_public_dataclass_is_told():
    missing = {}
    for full in NAMES:
        room, _, name = full.rpartition(".")
        thing = getattr(import_module(room), name)
        if isinstance(thing, type) and dataclasses.is_dataclass(thing):
            parts = sections(thing.__doc__)
            known = told(parts.get("Parameters", "")) | told(parts.get("Attributes", ""))
            lost = [
                f.name
                for f in dataclasses.fields(thing)
                if f.init and not f.name.startswith("_") and f.name not in (*known, "of")
            ]
            if lost:
                missing[full] = lost
    assert missing == {}
