"""What kind of thing a layer is, so that a drawing can hatch it as drawings do."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import xarray as xr

#: Kinds in the order they are looked for: kind -> words in tags or names.
WORDS: dict[str, tuple[str, ...]] = {
    "air": ("air",),
    "foam": ("foam", "polystyrene", "polyurethane", "polyisocyanurate", "EPS", "XPS", "phenolic"),
    "fibre": ("fibre", "wool", "cellulose", "batt", "straw", "hemp", "insulation"),
    "panel": ("panel", "OSB", "plywood", "fibreboard", "particleboard", "hardboard"),
    "wood": ("wood", "lumber", "spruce", "pine", "cedar", "oak", "timber", "larch", "fir", "redwood", "maple"),
    "concrete": ("concrete", "slab", "screed"),
    "masonry": ("masonry", "brick", "stone", "limestone", "sandstone", "block", "adobe"),
    "plaster": ("plaster", "stucco", "render", "mortar", "lime"),
    "board": ("board", "gypsum", "fibre cement"),
    "metal": ("metal", "steel", "aluminium", "zinc", "copper"),
    "ground": ("ground", "gravel", "sand", "soil", "sub-slab"),
}

#: What a kind is called in a key of a drawing.
NAMES = {
    "air": "air", "foam": "foam", "fibre": "fibrous insulation", "panel": "wood panel", "wood": "wood",
    "concrete": "concrete", "masonry": "masonry", "plaster": "plaster or mortar", "board": "mineral board",
    "metal": "metal", "ground": "ground", "other": "other",
}  # fmt: skip


def drawn_as(tags: Sequence[str], name: str = "") -> str:
    """Return the kind of a material by its tags; by its name where the tags do not say."""
    for kind, words in WORDS.items():
        if any(word in tags for word in words):
            return kind
    return drawn_as_named(name)


def kinds_drawn(results: xr.Dataset) -> dict[str, str]:
    """Return the kind of every layer of results, by the tags and the name of its material."""
    if "tags_of_layer" not in results:
        return {str(n): drawn_as_named(str(n)) for n in results["layer"].values}
    rows = zip(*(results[k].values for k in ("layer", "tags_of_layer", "material_of_layer")), strict=True)
    return {str(n): drawn_as(str(tags).split(", "), str(material)) for n, tags, material in rows}


def drawn_as_named(name: str) -> str:
    """Return the kind of a layer by the words of its name; ``"other"`` where they do not say."""
    lower = f" {name.lower()} "
    if "fibre cement" in lower:
        return "board"
    for kind, words in WORDS.items():
        for word in words:
            front = f" {word.lower()}"
            if front in lower:
                return kind
    return "other"
