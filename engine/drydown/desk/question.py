"""The question as a sentence with blanks: each is a value of the case file, shown in words and changed by them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from ..casefile.values import direction
from ..errors import InputError
from ..materials.kinds import kind_of
from ..materials.model import Material
from ..plugins import climates, materials
from ..quantities import parse, show
from ..text import MONTHS
from .document import Document, Trouble
from .edits import called
from .water import first_date, layers_that_hold

Choice = tuple[Any, str]


@dataclass(frozen=True)
class Blank:
    """One blank of the sentence.

    Parameters
    ----------
    name : str
    value : object
        As it stands, as JSON.
    words : str
    choices : sequence of (value, words)
    free : bool
        Whether something else may be written.
    hint : str
        What may be written.
    places : tuple of str
        Places in the case whose trouble is shown here.
    """

    name: str
    value: Any
    words: str
    choices: Sequence[Choice] = ()
    free: bool = False
    hint: str = ""
    places: tuple[str, ...] = ()

    def about(self, trouble: Trouble) -> bool:
        """Return whether a trouble is one of this blank."""
        return not trouble.part and trouble.at.startswith(self.places) if self.places else False

    def shown(self, wrong: Sequence[Trouble]) -> dict[str, Any]:
        """Return it as the page takes it."""
        trouble = next((t.text for t in wrong if self.about(t)), "")
        return {
            "blank": self.name,
            "value": self.value,
            "words": self.words,
            "choices": [{"value": v, "words": w} for v, w in self.choices],
            "free": self.free,
            "hint": self.hint,
            "attach": self.name == "place",
            "trouble": trouble,
        }


def question_of(document: Document, system: Any, attached: Sequence[str] = ()) -> list[Blank]:
    """Return the blanks of a case, in the order of the sentence."""
    wetting = next((w for w in document.get("wetting", []) if isinstance(w, dict)), None)
    out = [_amount(wetting, system)]
    if wetting is not None:
        out += [_layer(document, wetting), _month(wetting), _yearly(wetting)]
    part = part_of(document)
    out.append(Blank("part", part, part, [(p, p) for p in ("wall", "roof", "floor")], places=("outside",)))
    if part != "floor":
        out.append(_orientation(document))
    return [*out, _place(document, attached), _indoor(document, system), _leak(document, system), damp_of(document)]


_AMOUNTS = ("0.5 kg/m2", "1 kg/m2", "2 kg/m2", "5 kg/m2")


def _amount(wetting: Document | None, system: Any) -> Blank:
    amounts = ("0.1 lb/ft2", "0.2 lb/ft2", "0.4 lb/ft2", "1 lb/ft2") if system == "US" else _AMOUNTS
    choices: list[Choice] = [(a, litres(a, system)) for a in amounts] + [("none", "no water")]
    value = "none" if wetting is None else wetting.get("amount", "")
    words = "no water" if wetting is None else litres(value, system)
    hint = "such as 1 pint/ft2" if system == "US" else "such as 2 litres/m2"
    return Blank("amount", value, words, choices, True, hint, ("wetting.1.amount", "wetting.1.duration"))


def litres(given: Any, system: Any) -> str:
    """Return an amount of water on an area as it is spoken."""
    try:
        amount = parse(given, "water_mass")
    except InputError:
        return str(given)
    if system == "US":
        return f"{show(amount, 'water_mass', 'US')} of water"
    number = f"{amount:.3g}"
    return f"{number} {'litre' if number == '1' else 'litres'} of water a square metre"


def _layer(document: Document, wetting: Document) -> Blank:
    names = layers_that_hold(document)
    value = str(wetting.get("layer", ""))
    value = next((n for n in names if n.casefold() == value.casefold()), value)
    places = ("wetting.1.layer", "wetting.1.place", "wetting.1.depth", "wetting")
    return Blank("layer", value, f"the {value}", [(n, f"the {n}") for n in names], places=places)


def _month(wetting: Document) -> Blank:
    choices: list[Choice] = [(i, name) for i, name in enumerate(MONTHS, 1)]
    date = first_date(wetting.get("date"))
    month = 0 if date is None else int(str(date)[5:7])
    return Blank("month", month, MONTHS[month - 1] if month else "some month", choices, places=("wetting.1.date",))


def _yearly(wetting: Document) -> Blank:
    value = wetting.get("yearly") is True
    choices: list[Choice] = [(False, "once"), (True, "every year")]
    return Blank("yearly", value, "every year" if value else "once", choices, places=("wetting.1.yearly",))


def part_of(document: Document) -> str:
    """Return whether the case is a wall, a roof or a floor."""
    outside = document.get("outside", {})
    if outside.get("model") in ("ground", "slab"):
        return "floor"
    if document.get("inside", {}).get("surface") == "floor":
        return "floor"
    try:
        tilt = parse(outside.get("tilt", "90 deg"), "angle")
    except InputError:
        return "wall"
    return "roof" if tilt < 60.0 else "wall"


_COMPASS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


def _orientation(document: Document) -> Blank:
    value = document.get("outside", {}).get("orientation", "north")
    try:
        words = next((c for c in _COMPASS if direction(c, "") == direction(value, "")), str(value))
    except InputError:
        words = str(value)
    choices: list[Choice] = [(c, c) for c in _COMPASS]
    return Blank("orientation", words, words, choices, True, "such as 225 deg", ("outside.orientation",))


@lru_cache(maxsize=1)
def _climates() -> tuple[Choice, ...]:
    out = []
    for name in climates():
        found = climates().get(name)
        kind = re.search(r"generator, ([a-z ]+),", str(getattr(found, "source", "")))
        about = f", a {' and '.join(kind[1].split())} place" if kind else ""
        about = about.replace(" a arid", " an arid")
        out.append((name, f"{name}{about}"))
    return tuple(out)


def _place(document: Document, attached: Sequence[str]) -> Blank:
    climate = document.get("climate", {})
    value = climate.get("name", climate.get("file", ""))
    choices = [*_climates(), *((n, f"the place of {n}") for n in attached if n.endswith((".epw", ".csv", ".nc")))]
    words = next((w for v, w in choices if v == value), f"the place of {value}" if value else "no place")
    return Blank("place", value, words, choices, places=("climate",))


_INDOOR: tuple[Choice, ...] = (
    ("normal occupancy", "an ordinary home"),
    ("high occupancy", "a crowded home"),
    ("humidity class 1", "a dry store"),
    ("humidity class 2", "an office or a shop"),
    ("humidity class 3", "a home with few people"),
    ("humidity class 4", "a kitchen or a sports hall"),
    ("air conditioned", "an air-conditioned home"),
    ("20 degC 50 %", "20 °C and 50 %"),
)


def _indoor(document: Document, system: Any) -> Blank:
    inside = document.get("inside", {})
    model = inside.get("model", "normal occupancy")
    value: Any = model
    words = next((w for v, w in _INDOOR if v == value), str(model))
    if model == "humidity class":
        value = f"humidity class {inside.get('class', '')}"
        words = next((w for v, w in _INDOOR if v == value), str(value))
    elif model == "constant":
        value = f"{inside.get('temperature', '')} {inside.get('humidity', '')}"
        words = " and ".join(str(inside.get(k, "?")) for k in ("temperature", "humidity")).replace("degC", "°C")
    elif model == "measured":
        value = str(inside.get("file", ""))
        words = f"the air of {value}"
    hint = "or a temperature and a humidity, such as " + ("'70 degF 45 %'" if system == "US" else "'21 degC 45 %'")
    return Blank("indoor", value, words, _INDOOR, True, hint, ("inside",))


_LEAKS = ("1 m3/(m2 h)", "3 m3/(m2 h)", "5 m3/(m2 h)")


def leaks(system: Any) -> list[Choice]:
    """Return the leaks that are offered: a blower-door figure of the envelope, or the metres of a joint."""
    figures = ("0.05 cfm/ft2", "0.15 cfm/ft2", "0.25 cfm/ft2") if system == "US" else _LEAKS
    named = zip(figures, ("a tight house", "a usual house", "a leaky house"), strict=True)
    joints = (("taped", "a taped joint"), ("foamed", "a foamed joint"), ("bare", "a bare joint"))
    return [
        ("none", "no air that leaks"),
        *((f, f"air that leaks as in {w}, {f} at 50 Pa") for f, w in named),
        *((f"joint {j}", f"air through {w}, 5 m in 25 m2") for j, w in joints),
    ]


def _leak(document: Document, system: Any) -> Blank:
    leak = next((t for t in document.get("air_leak", []) if isinstance(t, dict)), None)
    value: Any = "none"
    if leak is not None:
        value = f"joint {leak['joint']}" if "joint" in leak else str(leak.get("q50", leak.get("n50", "")))
    choices = leaks(system)
    words = next((w for v, w in choices if v == value), f"air that leaks, {value} at 50 Pa")
    return Blank("leak", value, words, choices, True, "the blower-door figure, such as 3 m3/(m2 h)", ("air_leak",))


#: Water in what was built in damp, by kind. Source: common practice; lumber above 19 %MC counts as green.
_DAMP = {"wood": "25 %MC", "panel": "20 %MC"}


def damp_of(document: Document) -> Blank:
    """Return the blank of what was built in damp."""
    choices: list[Choice] = [("none", "nothing was built in damp")]
    value: Any = "none"
    for table in document.get("layer", []):
        if "material" not in table:
            continue
        found, name = materials().get(str(table["material"])), called(table)
        if isinstance(found, Material) and (water := _DAMP.get(kind_of(found.tags, found.name))):
            choices.append(({"layer": name, "water": water}, f"the {name} was built in damp, {water}"))
        if "start_water" in table:
            value = {"layer": name, "water": table["start_water"]}
    words = next((w for v, w in choices if v == value), "")
    if not words and isinstance(value, dict):
        words = f"the {value['layer']} was built in damp, {value['water']}"
    return Blank("damp", value, words, choices, True, "such as 25 %MC")
