"""What drydown needs: bounds on both sides, licences that allow to hand it on, scripts that say where they do not."""

import importlib.util
import subprocess
import sys
from pathlib import Path

import pytest

CI = Path(__file__).parents[2] / ".ci"


def script(name):
    spec = importlib.util.spec_from_file_location(name, CI / f"{name}.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_every_dependency_has_a_lower_and_an_upper_bound():
    lowest = script("lowest")
    found = lowest.requirements()
    assert len(found) > 25
    assert not [str(r) for r in found if not lowest.bound(r, ">=") or not lowest.bound(r, "<")]


def test_what_runs_with_drydown_and_what_tests_it_may_be_handed_on_or_is_named():
    done = subprocess.run([sys.executable, str(CI / "licences.py"), "test"], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert "numpy " in done.stdout and "packages run with drydown" in done.stdout


@pytest.mark.parametrize(
    ("expression", "may"),
    [
        ("MIT", True),
        ("BSD-2-Clause AND Apache-2.0 WITH LLVM-exception", True),
        ("GPL-3.0-only OR MIT", True),
        ("MIT AND LGPL-2.1-or-later", False),
        ("(MIT OR Apache-2.0) AND BSD-3-Clause", True),
        ("GPL", False),
        ("unknown", False),
        ("", False),
    ],
)
def test_expressions_of_licences(expression, may):
    assert script("licences").allowed(expression) is may


@pytest.mark.parametrize(
    ("words", "spdx"),
    [
        ("GNU General Public License v3 (GPLv3)", "GPL"),
        ("GNU Lesser General Public License v2 or later (LGPLv2+)", "GPL"),
        ("BSD 2-Clause License", "BSD-2-Clause"),
        ("Python Software Foundation License", "PSF-2.0"),
        ("MIT License", "MIT"),
        ("Limited to members", ""),
        ("all rights reserved", ""),
    ],
)
def test_words_of_licences(words, spdx):
    assert script("licences").named(words) == spdx
