"""What stands on or beside a flat roof takes sun and sky from it: factors for design."""

from __future__ import annotations

from typing import NamedTuple


class RoofShade(NamedTuple):
    """Factors on the absorptance for sun and on the emissivity of a roof [-], and what causes them."""

    sun: float
    longwave: float
    words: str


#: By the word of a case file. Source: WTA Merkblatt 6-8 as quoted in Fouad (ed.), Bauphysik-Kalender 2022, chapter on
#: moisture design of timber buildings: effective absorptance 0.35 a and emittance 1.0 e beside buildings, trees or a
#: parapet (the ratio of the sun on a wall to the north to that on the level, 0.37 to 0.41), 0.30 a and 0.50 e under
#: solar panels on stands.
SHADES: dict[str, RoofShade] = {
    "none": RoofShade(1.0, 1.0, "nothing shades it"),
    "beside": RoofShade(0.35, 1.0, "shaded by buildings, trees or a parapet"),
    "panels": RoofShade(0.30, 0.50, "under solar panels on stands"),
}
