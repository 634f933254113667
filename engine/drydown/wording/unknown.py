"""What an answer does not know, said first."""

from __future__ import annotations

from collections.abc import Sequence

from ..text import listed, plain, share
from ..trial.unknown import Unknown


def unknown_words(unknowns: Sequence[Unknown]) -> list[str]:
    """Return a sentence for each thing that is not known."""
    return [_said(u) for u in unknowns]


def unjudged(unknowns: Sequence[Unknown]) -> list[str]:
    """Return what no criterion judges though the question turns on it, so that no plain yes may stand before it."""
    out = [
        f"{listed([f'the {t}' for t in u.facts['titles']] or ['what the water does'])} in {u.facts['place']}"
        for u in unknowns
        if u.kind == "weathered"
    ]
    return out + [f"whether the floor of '{u.facts['layer']}' swells" for u in unknowns if u.kind == "floor"]


def _said(u: Unknown) -> str:
    f = u.facts
    if u.kind == "weathered" and f["titles"]:
        limits = "that limit" if len(f["titles"]) == 1 else "those limits"
        what = listed([f"the {title}" for title in f["titles"]])
        return f"What the water adds to {what} in {f['place']}, where it gets in: rain alone passes {limits} there."
    if u.kind == "weathered":
        return (
            f"What the water does in {f['place']}, where it gets in: rain wets that as a matter of course, and it is "
            "judged for frost alone. Whether the wood there rots or the coat comes off, no line below tells."
        )
    if u.kind == "no rain":
        lost = f" A share of the rain that gets in ({listed(f['shares'])}) became nothing." if f["shares"] else ""
        return (
            f"There is no rain in the weather of {f['climate']}: this answer is for a wall that rain never meets.{lost}"
        )
    if u.kind == "no liquid":
        return (
            f"The library has no data for how '{f['layer']}' takes up rain: all {plain(f['offered'])} kg/m2 of driving "
            "rain ran off in this run. If it takes up rain, the wall gets wetter than is said here."
        )
    if u.kind == "dry soil":
        return (
            f"How wet the soil is: {plain(100.0 * f['humidity'], 4)} % humidity is soil so dry that plants wilt in it. "
            f"Moist soil has 99.9 % and more, and '{f['layer']}', which touches it, may draw water from it."
        )
    if u.kind == "closed gap":
        return (
            f"The air gap '{f['layer']}' behind the cladding counts as closed, with no air moving in it. If it is open "
            "to the outside, say so with ventilated_gap: it dries faster."
        )
    if u.kind == "floor":
        return (
            f"Whether '{f['layer']}' swells, cups or comes loose: no criterion here tells. It starts at "
            f"{share(f['first'])} of its dry mass and gets to {share(f['most'])}; floors of wood are laid at 7 to 11 %."
        )
    if u.kind == "left out":
        names = listed([f"'{name}'" for name in f["layers"]])
        return f"The case leaves {names} unjudged: whether {'they stay' if len(f['layers']) > 1 else 'it stays'} sound."
    if u.kind == "short":
        return f"The run is too short to judge: {listed(f['titles'])}."
    return f"Could not be judged, for want of data: {listed(f['titles'])}."
