"""The documentation site: Sphinx with MyST, its notebooks run. `sphinx-build -W --keep-going -n docs docs/_build`."""

import re
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent / "_ext"))

import drydown
from pygments.lexers.special import TextLexer

project = "drydown"
author = "The drydown developers"
copyright = author  # Apache-2.0; no year, so that a build does not change with the date
release = version = drydown.__version__

extensions = ["myst_nb", "sphinx.ext.autodoc", "sphinx.ext.viewcode", "numpydoc", "mathml", "lists"]
source_suffix = {".md": "myst-nb"}
exclude_patterns = ["_build", "_ext", "figures", "example_plugin/src", "example_plugin/tests"]

myst_enable_extensions = ["dollarmath", "deflist"]
myst_heading_anchors = 3
# Notebooks (docs/gallery) are run anew by every build; a cell that fails is an error of the build.
nb_execution_mode = "force"
nb_execution_timeout = 600
nb_execution_raise_on_error = True
nb_merge_streams = True

html_math_renderer = "mathml"
html_theme = "furo"
html_title = "drydown"
html_static_path = ["_static"]
html_css_files = ["site.css"]
html_show_copyright = False
html_show_sphinx = False
html_copy_source = False
html_show_sourcelink = False
# Quiet, with enough contrast in daylight; one accent.
html_theme_options = {
    "light_css_variables": {
        "color-brand-primary": "#27408b",
        "color-brand-content": "#27408b",
        "color-brand-visited": "#5b4a8a",
        "color-api-name": "#27408b",
        "color-api-pre-name": "#5a6072",
        "font-stack": "system-ui, 'DejaVu Sans', sans-serif",
    },
    "dark_css_variables": {
        "color-brand-primary": "#a9bcf5",
        "color-brand-content": "#a9bcf5",
        "color-brand-visited": "#c6b5ea",
        "color-api-name": "#a9bcf5",
        "color-api-pre-name": "#a0a6b8",
    },
}

highlight_language = "none"
default_role = "code"  # what docstrings have in single backticks
pygments_style = "friendly"

smartquotes = False  # a quote is what is typed into a file

autodoc_typehints = "none"  # the docstrings tell types, shapes and units
autodoc_member_order = "bysource"
numpydoc_show_class_members = False
numpydoc_xref_param_type = False
autosummary_generate = False
suppress_warnings = ["toc.empty_glob"]  # a pattern of the table of contents may wait for its page


def _only_own_words(app, what, name, obj, skip, options):
    """Leave out the fields of a NamedTuple, whose docstrings say no more than their position."""
    return True if "Alias for field number" in (getattr(obj, "__doc__", "") or "") else skip


def _bars_are_bars(app, what, name, obj, options, lines):
    """Take |x| in a docstring as the amount of x, not as a substitution."""
    lines[:] = [re.sub(r"(?<!`)\|(?!`)", r"\\|", line) for line in lines]


def setup(app):
    """Connect; data files are shown as plain text."""
    app.add_lexer("csv", TextLexer)
    app.connect("autodoc-process-docstring", _bars_are_bars, priority=400)  # before numpydoc
    app.connect("autodoc-skip-member", _only_own_words)
