"""What one dimension leaves out, for each line through a wall that a case may stand for."""

from __future__ import annotations

#: Key in the case file -> what is said with every answer. Rules of the trade: common practice.
CAUTIONS = {
    "clear wall": "",
    "stud": (
        "This line runs through the stud. Wood carries heat better than what fills the bays: the sheathing over it is "
        "warmer and its inner edge colder than here, and fasteners, colder still, are not in it. Water that runs "
        "down a stud does not stop where this line does."
    ),
    "sill": (
        "This line runs through the sill. Water gathers at the lowest plate, from above and, on concrete, from below: "
        "more reaches it than a share of the rain on its own square metre. The end grain of studs that stand on it "
        "drinks some ten times faster than the side of the wood that is counted here."
    ),
    "rim joist": (
        "This line runs through the rim joist. Floor and joists lead heat and vapour to it from three sides, indoor "
        "air reaches it through the floor's edge, and beams end in it by their end grain. It is colder and more humid "
        "than the wall beside it: an air leak belongs into this case."
    ),
    "window corner": (
        "This line runs through the lower corner of a window opening, where most leaks begin. Water comes from the "
        "frame's joint, not from the face of the wall, and corners lose heat in three directions: the face inside is "
        "colder than here, and mould begins there."
    ),
}
LINES = tuple(CAUTIONS)


def caution(line: str) -> str:
    """Return what is said with an answer of a line; empty for the clear wall."""
    return CAUTIONS[line]
