"""What a builder would try on a wall: films, a vented gap, insulation outside, sheathing, drier air, less water."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from ..case.assembly import Assembly, Layer
from ..case.case import Case
from ..case.loads import VentilatedGap
from ..errors import InputError
from ..materials.model import Film, Material

#: Permeance of a film with an sd of 1 m [kg/(m2 s Pa)], still air at 296.15 K (DIN 52615: 2.0e-7 T^0.81/P).
ONE_METRE = 2.0e-7 * 296.15**0.81 / 101325.0
#: Thickest layer that is taken for cladding, and for a sheathing board [m] (common practice).
CLADDING, BOARD = 0.125, 0.03
#: Air changes of a gap that is opened at top and bottom [1/s]: 20 1/h, what horizontal battens leave (judgement
#: inside measured ranges: brick 1 to 10, siding 100 to 1000 1/h, Langmans and others 2015).
AIR_CHANGES = 20.0 / 3600.0
#: Thicknesses of insulation outside [m], and of a gap that is added.
OUTSIDE, GAP = (0.04, 0.08), 0.02
#: How much drier the indoor air is kept [-].
DRIER = 0.1
#: Two films are alike where their permeances, dry and humid, lie within this factor.
ALIKE = 3.0


@dataclass(frozen=True)
class Remedy:
    """One thing to try.

    Parameters
    ----------
    words : str
    kind : str
        'film', 'gap', 'insulation', 'sheathing', 'indoor air' or 'water'; two of one kind are no pair.
    size : int
        How much it takes to do, from 1, small.
    apply : callable
        Case to case; raises InputError where it does not fit.
    """

    words: str
    kind: str
    size: int
    apply: Callable[[Case], Case]


def remedies(case: Case) -> list[Remedy]:
    """Return what is worth a try on a wall.

    Parameters
    ----------
    case : Case
        With a wetting or without; with none the sheathing is what is to be kept dry.
    """
    at = sheathing(case)
    found = [*_less_water(case), *_drier(case), *_films(case, at), *_vented(case, at)]
    found += [*_insulated(case, at), *_other_board(case, at)]
    return [r for r in found if _fits(case, r)]


def _fits(case: Case, remedy: Remedy) -> bool:
    try:
        remedy.apply(case)
    except InputError:
        return False
    return True


def sheathing(case: Case) -> int:
    """Return the place among the parts of what is to be kept dry: the first wetted layer, else the board outside."""
    parts = case.assembly.parts
    wetted = {w.layer for w in case.wettings}
    layers = [i for i, p in enumerate(parts) if isinstance(p, Layer)]
    if wetted:
        return next(i for i in layers if _layer(parts[i]).name in wetted)
    boards = [i for i in layers[1:] if _is_board(_layer(parts[i]))]
    return boards[0] if boards else layers[min(1, len(layers) - 1)]


def _layer(part: Any) -> Layer:
    assert isinstance(part, Layer)
    return part


def _is_board(layer: Layer) -> bool:
    return layer.thickness <= BOARD and bool({"wood", "panel", "wood panel", "sheathing"} & set(layer.material.tags))


def _with(case: Case, parts: Sequence[Layer | Film]) -> Case:
    return replace(case, assembly=Assembly(tuple(parts), case.assembly.name))


def _installed(name: str) -> Material | None:
    """Return a material of whatever library is installed; None: there is none of that name."""
    from ..plugins import materials

    try:
        entry = materials().get_entry(name, "", "material")
    except InputError:
        return None
    return entry if isinstance(entry, Material) else None


def _less_water(case: Case) -> Iterator[Remedy]:
    if case.wettings:
        yield Remedy(
            "half of that water",
            "water",
            2,
            lambda c: replace(c, wettings=tuple(replace(w, amount=0.5 * w.amount) for w in c.wettings)),
        )


def _drier(case: Case) -> Iterator[Remedy]:
    """Indoor air that is drier by a tenth, or of the next lower class, where its model can say so."""
    inside: Any = case.inside
    model: Any = getattr(inside, "model", None)
    new: Any = None
    words = f"indoor air drier by {100 * DRIER:.0f} % relative humidity"
    names = {f.name for f in fields(model)} if model is not None else set()
    if "margin" in names and model.margin > -0.2:
        new = replace(model, margin=model.margin - DRIER)
    elif "number" in names and model.number > 1:
        new, words = replace(model, number=model.number - 1), f"indoor air of class {model.number - 1}"
    elif "humidity_cap" in names and "excess" in names and model.humidity_cap > 0.4:
        new = replace(model, humidity_cap=model.humidity_cap - DRIER, excess=0.5 * model.excess)
    elif "humidity" in names and model.humidity > 0.25:
        new = replace(model, humidity=model.humidity - DRIER)
    if new is not None:
        yield Remedy(words, "indoor air", 1, lambda c: replace(c, inside=replace(inside, model=new)))


def _films(case: Case, at: int) -> Iterator[Remedy]:
    """Films inside, in place of the innermost that is no paint or behind the lining; an open sheet outside."""
    parts = case.assembly.parts
    inner = [i for i, p in enumerate(parts) if isinstance(p, Film) and i > at and not _is_paint(p)]
    outer = [i for i, p in enumerate(parts) if isinstance(p, Film) and i < at and not _is_paint(p)]
    layers = [i for i, p in enumerate(parts) if isinstance(p, Layer)]
    if inner:
        old = parts[inner[-1]]
        for film in inside_films():
            if not _alike(film, old):
                yield Remedy(f"{_a(film.name)} in place of {old.name}", "film", 2, _put(film, old))
    elif len(layers) > 1 and layers[-1] > at:
        for film in inside_films():
            yield Remedy(f"{_a(film.name)} behind the inner lining", "film", 2, _put(film, None))
    if outer:
        old = parts[outer[0]]
        assert isinstance(old, Film)
        film = _constant("vapour-open sheet, sd 0.2 m", 0.2)
        if not _alike(film, old) and _ends(old)[0] < _ends(film)[0] and "roofing" not in old.tags:
            yield Remedy(f"{_a(film.name)} in place of {old.name}", "film", 3, _put(film, old))


def _a(name: str) -> str:
    return f"a{'n' if name[0] in 'aeiou' else ''} {name}"


def _put(film: Film, old: Any) -> Callable[[Case], Case]:
    """Return the change that puts a film in the place of another, or behind the inner lining where there is none."""

    def apply(case: Case) -> Case:
        parts = list(case.assembly.parts)
        if old is not None:
            parts[parts.index(old)] = film
        else:
            lining = max(i for i, p in enumerate(parts) if isinstance(p, Layer))
            parts.insert(lining, film)
        return _with(case, parts)

    return apply


def inside_films() -> tuple[Film, ...]:
    """Return the films to try inside: class II and III that open with humidity, kraft-like, tight, open.

    Round figures of the kinds, for demonstration: the classes are those of the IRC (class II up to 1 perm, class III up
    to 10 perm in a dry cup, from memory), kraft facing falls from about 10 m to 2 m.
    """
    return (
        _opening("humidity-dependent film of class II, sd 8 to 0.2 m", 8.0, 0.2),
        _opening("humidity-dependent film of class III, sd 2 to 0.1 m", 2.0, 0.1),
        _opening("kraft facing, sd 10 to 2 m", 10.0, 2.0),
        _constant("vapour-tight sheet, sd 100 m", 100.0),
        _constant("vapour-open sheet, sd 0.2 m", 0.2),
    )


def _constant(name: str, sd: float) -> Film:
    return Film(name, lambda phi: np.full_like(np.asarray(phi, float), ONE_METRE / sd))


def _opening(name: str, dry: float, humid: float) -> Film:
    return Film(
        name,
        lambda phi: ONE_METRE / (humid + (dry - humid) / (1.0 + np.exp((np.asarray(phi, float) - 0.65) / 0.05))),
    )


def _is_paint(film: Any) -> bool:
    return "paint" in film.tags or any(w in film.name.lower() for w in ("paint", "primer", "enamel", "wallpaper"))


def _ends(film: Any) -> tuple[float, float]:
    values = np.asarray(film.permeance(np.array([0.25, 0.85])), dtype=float)
    return float(values[0]), float(values[1])


def _alike(one: Any, other: Any) -> bool:
    pairs = zip(_ends(one), _ends(other), strict=True)
    return all(abs(math.log(a / b)) < math.log(ALIKE) for a, b in pairs)


def _vented(case: Case, at: int) -> Iterator[Remedy]:
    """The closed air gap outside opened at top and bottom, or a gap with outdoor air added behind the cladding."""
    parts = case.assembly.parts
    vented = {getattr(load, "layer", "") for load in case.loads if isinstance(load, VentilatedGap)}
    gaps = [p for p in parts[:at] if isinstance(p, Layer) and "air" in p.material.tags]
    if any(g.name in vented for g in gaps):
        return
    if gaps:
        gap = gaps[-1]
        yield Remedy(
            f"the {gap.name} open at top and bottom",
            "gap",
            2,
            lambda c: replace(c, loads=(*c.loads, VentilatedGap(gap.name, AIR_CHANGES))),
        )
        return
    air = _installed("air gap 25 mm")
    first = next(i for i, p in enumerate(parts) if isinstance(p, Layer))
    cladding = parts[first]
    if air is None or first >= at or _layer(cladding).thickness > CLADDING:
        return

    def apply(case: Case) -> Case:
        new = list(case.assembly.parts)
        new.insert(new.index(cladding) + 1, Layer(air, GAP, "vented gap"))
        return replace(_with(case, new), loads=(*case.loads, VentilatedGap("vented gap", AIR_CHANGES)))

    yield Remedy(f"a vented gap of 20 mm behind the {_layer(cladding).name}", "gap", 4, apply)


def _insulated(case: Case, at: int) -> Iterator[Remedy]:
    """Mineral wool boards outside of the sheathing, behind cladding and gap; one that is there is made thicker."""
    parts = case.assembly.parts
    board = _installed("mineral wool board")
    layers = [i for i, p in enumerate(parts) if isinstance(p, Layer) and i < at]
    if board is None or not layers or _layer(parts[layers[0]]).thickness > CLADDING:
        return
    before = parts[layers[-1]]
    for size in OUTSIDE:

        def apply(case: Case, size: float = size) -> Case:
            new = list(case.assembly.parts)
            new.insert(new.index(before) + 1, Layer(board, size, "insulation outside"))
            return _with(case, new)

        where = f"outside of the {_layer(parts[at]).name}"
        yield Remedy(f"{1e3 * size:.0f} mm of mineral wool board {where}", "insulation", 5 + round(size / 0.04), apply)


def _other_board(case: Case, at: int) -> Iterator[Remedy]:
    """Another sheathing of the same thickness."""
    old = case.assembly.parts[at]
    if not isinstance(old, Layer) or not _is_board(old):
        return
    for name in ("plywood", "wood fibreboard"):
        material = _installed(name)
        if material is None or material.name == old.material.name:
            continue

        def apply(case: Case, material: Material = material) -> Case:
            parts = list(case.assembly.parts)
            i = next(i for i, p in enumerate(parts) if isinstance(p, Layer) and p.name == old.name)
            parts[i] = replace(_layer(parts[i]), material=material, mould_class="", critical_saturation=None)
            return _with(case, parts)

        yield Remedy(f"{name} in place of {old.material.name}", "sheathing", 5, apply)
