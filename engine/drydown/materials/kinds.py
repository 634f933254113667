"""What kind of thing a material is, by its tags, or by the words of its name where the tags do not say.

The one place where words stand for a kind: drawings hatch by it, results and criteria go by it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

#: Kinds in the order they are looked for: kind -> words in tags or names. Bonded with cement comes before wood:
#: such boards do not rot. A panel of wood comes before insulation: it holds water as wood does.
WORDS: dict[str, tuple[str, ...]] = {
    "air": ("air",),
    "cement": ("fibre cement", "fiber cement", "cement board", "cement-bonded"),
    "panel": ("panel", "OSB", "plywood", "fibreboard", "particleboard", "hardboard"),
    "foam": ("foam", "polystyrene", "polyurethane", "polyisocyanurate", "EPS", "XPS", "phenolic"),
    "fibre": ("fibre", "wool", "cellulose", "batt", "straw", "hemp", "insulation"),
    "wood": ("wood", "lumber", "spruce", "pine", "cedar", "oak", "timber", "larch", "fir", "redwood", "maple"),
    "concrete": ("concrete", "slab", "screed"),
    "masonry": ("masonry", "brick", "stone", "limestone", "sandstone", "block", "adobe"),
    "plaster": ("plaster", "stucco", "render", "mortar", "lime"),
    "board": ("board", "gypsum"),
    "metal": ("metal", "steel", "aluminium", "zinc", "copper"),
    "ground": ("ground", "gravel", "sand", "soil", "sub-slab"),
}
#: What a kind is called in a key of a drawing.
NAMES = {
    "air": "air", "cement": "cement board", "foam": "foam", "fibre": "fibrous insulation", "panel": "wood panel",
    "wood": "wood", "concrete": "concrete", "masonry": "masonry", "plaster": "plaster or mortar",
    "board": "mineral board", "metal": "metal", "ground": "ground", "other": "other",
}  # fmt: skip
#: What a kind is to criteria: the coordinate `kind_of_layer` of results.
GROUPS = {
    "air": "air", "cement": "mineral", "foam": "insulation", "fibre": "insulation", "panel": "panel", "wood": "wood",
    "concrete": "mineral", "masonry": "mineral", "plaster": "mineral", "board": "other", "metal": "metal",
    "ground": "ground", "other": "other",
}  # fmt: skip
#: Classes of sensitivity to mould by words. Source: Ojanen et al. (2010), Buildings XI, tables 4 and 6: untreated pine
#: sapwood; planed or glued wood, paper-faced products; polished polyurethane, glass, metal. That pine is sapwood, and
#: other plant fibres are like wood, is assumed: the safe side.
_CLASSES = (
    ("medium resistant", r"fib(re|er) cement|cement board|cement-bonded"),
    ("very sensitive", r"sapwood|\bpine\b"),
    ("sensitive", r"wood|timber|gypsum board|plasterboard|paper|cellulose|straw|hemp|flax|cork"),
    ("resistant", r"polyurethane|polyiso|\bpu\b|\bp[iu]r\b|metal|steel|alumin|glass\b(?! (fib|wool))"),
)
#: Otherwise by group: concrete, aerated concrete and mineral wool are medium resistant (the same tables); on air
#: nothing grows, and what lies in the ground is not a surface of the building.
_BY_GROUP = {"mineral": "medium resistant", "insulation": "medium resistant", "metal": "resistant"}
_NONE = ("air", "ground")


def kind_of(tags: Sequence[str], name: str = "") -> str:
    """Return the kind of a material, a key of `NAMES`; ``"other"`` where neither tags nor name say.

    Parameters
    ----------
    tags : sequence of str
    name : str
    """
    if _has("cement", name):
        return "cement"
    if "cross-laminated" in name.lower():
        return "wood"  # solid boards, though it comes as a panel
    for kind, words in WORDS.items():
        if any(word in tags for word in words):
            return kind
    return next((kind for kind in WORDS if _has(kind, name)), "other")


def _has(kind: str, name: str) -> bool:
    lower = f" {name.lower()} "
    return any(f" {word.lower()}" in lower for word in WORDS[kind])


def group_of(tags: Sequence[str], name: str = "") -> str:
    """Return what a material is to criteria: wood, panel, mineral, insulation, air, metal, ground or other."""
    return GROUPS[kind_of(tags, name)]


def mould_class(words: str, group: str) -> str:
    """Return the class of Ojanen et al. (2010), the sensitive one where nothing better is known; none for air.

    Parameters
    ----------
    words : str
        Name and tags of the material.
    group : str
        Of `group_of`.
    """
    if group in _NONE:
        return ""
    for klass, found in _CLASSES:
        if re.search(found, words.casefold()):
            return klass
    return _BY_GROUP.get(group, "sensitive")


def decline_of(words: str, group: str) -> str:
    """Return on what mould declines in dry times: ``"wood"``, ``"paper"`` or ``""``, which is the slowest.

    Parameters
    ----------
    words : str
        Name and tags of the material.
    group : str
        Of `group_of`.
    """
    if group == "wood":
        return "wood"
    paper = re.search(r"wood|gypsum board|plasterboard|paper|cellulose", words.casefold())
    return "paper" if group == "panel" or (paper and group in ("insulation", "other")) else ""
