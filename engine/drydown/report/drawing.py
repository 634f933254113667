"""Drawings of the wall in HTML: layers to scale with hatches by kind, arrows, the strip beside the map."""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape
from itertools import pairwise
from typing import Any
from urllib.parse import quote

from ..figures.style import spread
from ..text import plain
from ..wording.story import Story
from .parts import Part, layers_of

#: Hatches as tiles: width, height, drawing. Strokes take the colour of `tile`.
TILES: dict[str, tuple[int, int, str]] = {
    "wood": (44, 22, "M0 4q11-4 22 0t22 0M0 11q11-5 22 0t22 0M0 18q11-3 22 0t22 0"),
    "panel": (20, 14, "M1 4l8-3M11 9l8-3M3 12l6-2M13 3l5-2"),
    "fibre": (26, 20, "M0 10c4-11 9-11 9 0s5 11 8.500 0 5-11 8.500 0"),
    "foam": (
        18,
        16,
        "M4 4m-2.500 0a2.500 2.500 0 1 0 5 0a2.500 2.500 0 1 0-5 0M13 12m-2.500 0a2.500 2.500 0 1 0 5 "
        "0a2.500 2.500 0 1 0-5 0",
    ),
    "masonry": (18, 18, "M0 18L18 0M-3 3L3-3M15 21L21 15M0 12L12 0M6 18L18 6"),
    "concrete": (30, 26, "M4 6l5 1-3 4zM20 16l5-1-1 5zM17 5h.8M8 19h.8M26 8h.8M14 12h.8M3 24h.8"),
    "plaster": (14, 12, "M2 2h.9M9 4h.9M5 8h.9M12 10h.9"),
    "board": (12, 12, "M3 3h.9M9 9h.9"),
    "cement": (12, 12, "M3 3h.9M9 9h.9M9 2V5"),
    "metal": (6, 6, "M0 6L6 0M-1 1L1-1M5 7L7 5"),
    "ground": (28, 20, "M5 6a3 2 0 1 0 6 0a3 2 0 1 0-6 0M18 14a4 2.500 0 1 0 8 0a4 2.500 0 1 0-8 0M20 4h1M8 15h1"),
    "other": (8, 8, "M4 0V8"),
}
#: Grounds of the kinds: papers, no colour that could be read as a state.
GROUND = {
    "wood": "#efe6d6", "panel": "#ece2cf", "fibre": "#f6f2e8", "foam": "#f4f1ec", "masonry": "#eadfd6",
    "concrete": "#e6e4e0", "plaster": "#f0eeea", "board": "#efefec",
    "cement": "#e8e7e3", "metal": "#d9dadc", "ground": "#e6dfd2",
    "air": "#ffffff", "other": "#f0ede6",
}  # fmt: skip


def tile(kind: str, stroke: str, opacity: float) -> str:
    """Return a hatch as a CSS image; ``none`` for air."""
    if kind not in TILES:
        return "none"
    width, height, path = TILES[kind]
    svg = (
        f"<svg xmlns='http://www.w3.org/2000/svg' width='{width}' height='{height}'>"
        f"<path d='{path}' fill='none' stroke='{stroke}' stroke-opacity='{opacity:g}' stroke-width='1' "
        "stroke-linecap='round'/></svg>"
    )
    return f'url("data:image/svg+xml,{quote(svg, safe=" =:/<>")}")'.replace("<", "%3C").replace(">", "%3E")


def hatch_css() -> str:
    """Return the rules of the hatches: dark on paper in the section, light over colours in the strip."""
    rules = []
    for kind, ground in GROUND.items():
        rules.append(f".wall .k-{kind}{{background:{ground} {tile(kind, '#1c2129', 0.5)}}}")
        rules.append(f".strip .k-{kind}{{background:{tile(kind, '#ffffff', 0.6)}}}")
    return "\n".join(rules)


def section(parts: Sequence[Part], wetted: Sequence[str] = ()) -> str:
    """Return the wall upright, outside at the left: layers as boxes whose widths are to scale, films as lines."""
    layers = layers_of(list(parts))
    whole = sum(p.thickness for p in layers)
    boxes, films, marks = [], [], []
    reached = 0.0
    for part in parts:
        if part.kind == "film":
            films.append((reached, part))
            continue
        drop = _DROP if part.name in wetted else ""
        boxes.append(f'<div class="k-{part.kind}" style="flex:{part.thickness:.3f} 1 0">{drop}</div>')
        marks.append((reached + 0.5 * part.thickness, part))
        reached += part.thickness
    lines = "".join(f'<div class="film" style="left:{100 * at / whole:.3f}%"></div>' for at, _ in films)
    marks = sorted([*marks, *films], key=lambda m: m[0])
    placed = spread([at / whole for at, _ in marks], [0.052] * len(marks))
    spans = "".join(
        f'<span style="left:{100 * min(max(x, 0.01), 0.99):.2f}%">{p.mark}</span>'
        for x, (_, p) in zip(placed, marks, strict=True)
    )
    what = "; ".join(f"{p.label}{f', {plain(p.thickness)} mm' if p.thickness else ''}" for p in parts)
    return (
        f'<div class="wall"><div class="marks" aria-hidden="true">{spans}</div>'
        f'<div style="position:relative" role="img" aria-label="{escape(f"Section, from outside to inside: {what}")}">'
        f'<div class="body">{"".join(boxes)}</div>{lines}</div>'
        f'<div class="scale" aria-hidden="true"><span>0</span><span>{plain(whole)} mm, to scale</span></div></div>'
    )


_DROP = (
    '<svg class="drop" viewBox="0 0 24 32" aria-hidden="true"><path d="M12 1C17 10 22 15 22 21a10 10 0 0 1-20 0C2 15 '
    '7 10 12 1Z" fill="#1c2129" stroke="#fff" stroke-width="2"/></svg>'
)


def key(parts: Sequence[Part]) -> str:
    """Return the list of parts with their marks."""
    items = []
    for p in parts:
        size = (
            f" <span class='soft'>{plain(p.thickness)} mm</span>" if p.thickness else " <span class='soft'>film</span>"
        )
        kind = ' class="film"' if p.kind == "film" else ""
        items.append(f"<li{kind}><b>{p.mark}</b><span>{escape(p.label)}{size}</span></li>")
    return f'<ul class="key" aria-label="Layers from outside to inside">{"".join(items)}</ul>'


def side(where: str, story: Story) -> str:
    """Return one side of the section: how much of the water left by it, with an arrow as wide as its share."""
    outside = where == "outside"
    amount = story.outward if outside else story.inward
    head = f'<span class="where">{where}</span>'
    if math.isnan(amount):
        return f'<div class="side {"o" if outside else "i"}">{head}</div>'
    total = story.outward + story.inward
    part = 0.0 if total <= 0.0 else min(max(amount / total, 0.0), 1.0)
    half = 22.0 * part
    words = "left outward" if outside else "left inward"
    colour = "#332288" if outside else "#882255"
    shape = ""
    if half > 0.2:
        shaft, wing = max(half, 0.8), half + 7.0
        d = f"M158 {30 - shaft}H34V{30 - wing}L2 30L34 {30 + wing}V{30 + shaft}H158Z"
        turn = "" if outside else ' transform="translate(160 0) scale(-1 1)"'
        shape = f'<path d="{d}" fill="{colour}"{turn}/>'
    return (
        f'<div class="side {"o" if outside else "i"}">{head}'
        f'<svg viewBox="0 0 160 60" aria-hidden="true">{shape}</svg>'
        f'<span class="share">{round(100 * part)} %</span>'
        f'<span class="amount">{words}: {max(amount, 0.0):.2f} kg/m²</span></div>'
    )


def strip(parts: Sequence[Part], data: dict[str, Any]) -> str:
    """Return names, strip and arrows beside the map; the wall lies on its side, outside above."""
    layers = layers_of(list(parts))
    edges = data["edges"]
    whole = edges[-1]
    rects = "".join(
        f'<rect x="0" y="{a:.3f}" width="1" height="{b - a + 0.02 * whole / 100:.3f}" fill="#ccc"/>'
        for a, b in pairwise(edges)
    )
    boxes, names, at = [], [], []
    for part, layer in zip(layers, data["layers"], strict=True):
        a, b = (edges[i] for i in layer["cells"])
        boxes.append(f'<div class="k-{part.kind}" style="flex:{b - a:.3f} 1 0"></div>')
        at.append(0.5 * (a + b) / whole)
    sizes = [0.1 if len(p.name) > 20 else 0.062 for p in layers]
    for part, y in zip(layers, spread(at, sizes), strict=True):
        names.append(
            f'<span style="top:{100 * y:.2f}%"><span style="position:static;transform:none;width:auto">'
            f'{escape(part.name)}</span><b class="badge">{part.mark}</b></span>'
        )
    return (
        f'<div class="names" aria-hidden="true">{"".join(names)}</div>'
        f'<div class="strip" aria-hidden="true">{_arrows(data, "top")}'
        f'<div class="layers"><svg id="cells" viewBox="0 0 1 {whole:.3f}" preserveAspectRatio="none" '
        f'shape-rendering="crispEdges">{rects}</svg>{"".join(boxes)}</div>{_arrows(data, "bottom")}</div>'
    )


def _arrows(data: dict[str, Any], where: str) -> str:
    """Return the zone of arrows above or below the strip; loads go with the side they lead to."""
    here = [
        i
        for i, way in enumerate(data["ways"])
        if way["where"] == where or (way["where"] == "gap" and way["outward"] == (where == "top"))
    ]
    groups = []
    for k, i in enumerate(here):
        x = 90.0 * (k + 1) / (len(here) + 1)
        y = 14 if where == "top" else 4
        groups.append(f'<g transform="translate({x:.1f} {y})" data-way="{i}" data-where="{where}"><path/></g>')
    word = '<text x="45" y="9" font-size="10" letter-spacing="1" text-anchor="middle" fill="#555b65">OUTSIDE</text>'
    if where == "bottom":
        word = word.replace('y="9"', 'y="62"').replace("OUTSIDE", "INSIDE")
    return f'<svg class="zone" viewBox="0 0 90 62">{word}{"".join(groups)}</svg>'
