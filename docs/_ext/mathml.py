"""Formulas as MathML, made when the site is built: browsers draw it themselves, nothing is loaded from elsewhere."""

from __future__ import annotations

from typing import Any

from docutils import nodes
from docutils.utils.math.latex2mathml import tex2mathml


def inline(self: Any, node: nodes.Element) -> None:
    """Write a formula within a line."""
    self.body.append(tex2mathml(node.astext()))
    raise nodes.SkipNode


def display(self: Any, node: nodes.Element) -> None:
    """Write a formula of its own."""
    self.body.append(self.starttag(node, "div", CLASS="math"))
    self.body.append(tex2mathml(node.astext(), as_block=True))
    self.body.append("</div>")
    raise nodes.SkipNode


def setup(app: Any) -> dict[str, bool]:
    """Register the renderer `mathml`."""
    app.add_html_math_renderer("mathml", (inline, None), (display, None))
    return {"parallel_read_safe": True, "parallel_write_safe": True}
