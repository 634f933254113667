"""What is put into a blank of the question becomes values of the case file."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from ..casefile.schema import INDOOR
from ..casefile.values import direction
from ..errors import InputError
from ..plugins import climates, materials
from ..quantities import parse
from .document import Document
from .edits import called, check_name
from .question import damp_of
from .water import cold_face, dates, layers_that_hold, met_by_water


def asked(document: Document, name: Any, value: Any) -> str:
    """Change a document by what is put into a blank; return what was changed, in words.

    Raises
    ------
    InputError
        There is no such blank, or the value cannot stand in it.
    """
    acts: dict[str, Callable[[Document, Any], None]] = {
        "amount": _ask_amount, "layer": _ask_layer, "month": _ask_month, "yearly": _ask_yearly, "part": _ask_part,
        "orientation": _ask_orientation, "place": _ask_place, "indoor": _ask_indoor, "leak": _ask_leak,
        "damp": _ask_damp,
    }  # fmt: skip
    if name not in acts:
        raise InputError(f"the question has no blank '{name}'; it has {', '.join(acts)}", "ask")
    acts[name](document, value)
    said = {"amount": "how much water", "layer": "where it gets in", "month": "when it gets in"}
    return said.get(str(name), str(name))


def _wetting(document: Document) -> Document:
    """Return the first wetting of a document, made where there is none."""
    found = document.setdefault("wetting", [])
    if not found:
        found.append({"layer": met_by_water(document), "amount": "1 kg/m2", "duration": "6 h"})
        _ask_month(document, 1)
    first: Document = found[0]
    return first


def _ask_amount(document: Document, value: Any) -> None:
    if value == "none":
        document.pop("wetting", None)
        return
    if parse(value, "water_mass", "amount") <= 0.0:
        raise InputError(f"{value!r}: it must be greater than 0, such as '2 kg/m2'", "amount")
    _wetting(document)["amount"] = str(value)


def _ask_layer(document: Document, value: Any) -> None:
    names = layers_that_hold(document)
    if value not in names:
        raise InputError(f"no layer that holds water is called '{value}'", "layer")
    wetting = _wetting(document)
    wetting["layer"] = value
    for key in ("place", "depth"):  # they were those of another layer
        wetting.pop(key, None)


def _ask_month(document: Document, value: Any) -> None:
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= 12:
        raise InputError(f"{value!r} is no month; a number from 1 to 12 is needed", "month")
    _wetting(document)["date"] = str(dates(document, value))


def _ask_yearly(document: Document, value: Any) -> None:
    if not isinstance(value, bool):
        raise InputError(f"{value!r}: true or false is needed", "yearly")
    wetting = _wetting(document)
    if value:
        wetting["yearly"] = True
    else:
        wetting.pop("yearly", None)


def _ask_part(document: Document, value: Any) -> None:
    outside, inside = document.setdefault("outside", {}), document.setdefault("inside", {})
    if value == "floor":
        document["outside"] = {"model": "ground"}
        inside["surface"] = "floor"
    elif value in ("wall", "roof"):
        kept = outside if outside.get("model", "weather") == "weather" else {}
        document["outside"] = outside = {"orientation": "north", **kept}
        for key in ("tilt", "rain_deposition"):
            outside.pop(key, None)
        inside.pop("surface", None)
        if value == "roof":
            outside |= {"tilt": "35 deg", "rain_deposition": 1.0}
            inside["surface"] = "ceiling"
        document.setdefault("climate", {"name": next(iter(climates()), "")})
    else:
        raise InputError(f"'{value}' is none of wall, roof, floor", "part")


def _ask_orientation(document: Document, value: Any) -> None:
    direction(value, "orientation")
    document.setdefault("outside", {})["orientation"] = value


def _ask_place(document: Document, value: Any) -> None:
    text = str(value)
    kept = {k: v for k, v in document.get("climate", {}).items() if k == "repeat"}
    if text in climates():
        document["climate"] = {"name": text, **kept}
    else:
        check_name(text, "place")
        document["climate"] = {"file": text, **kept}


def _ask_indoor(document: Document, value: Any) -> None:
    text = str(value).strip()
    kept = {k: v for k, v in document.get("inside", {}).items() if k in ("surface", "heat_transfer", "vapour_transfer")}
    if match := re.fullmatch(r"humidity class ([1-4])", text):
        found: Document = {"model": "humidity class", "class": int(match[1])}
    elif text in INDOOR:
        found = {"model": text}
    elif match := re.fullmatch(r"(.*?(?:deg[CF]|°[CF]|[CFK]))[\s,;]*(?:and\s+)?([\d.]+\s*%)", text):
        parse(match[1].strip(), "temperature", "indoor")
        parse(match[2].strip(), "humidity", "indoor")
        found = {"model": "constant", "temperature": match[1].strip(), "humidity": match[2].strip()}
    elif text.endswith(".csv"):
        check_name(text, "indoor")
        found = {"model": "measured", "file": text}
    else:
        raise InputError(f"'{text}': choose one, or write a temperature and a humidity, such as 21 degC 45 %", "indoor")
    document["inside"] = {**found, **kept}


def _ask_leak(document: Document, value: Any) -> None:
    text = str(value).strip()
    document.pop("air_leak", None)
    if text == "none":
        return
    layer = cold_face(document)
    if not layer:
        raise InputError("no layer is there in which leaking air could meet its dew point", "leak")
    where = {"layer": layer, "place": "inner"}
    if match := re.fullmatch(r"joint ([a-z ]+)", text):
        document["air_leak"] = [{"joint": match[1], "joint_length": "5 m", "area": "25 m2", **where}]
    else:
        parse(text, "air_leakage", "leak")
        document["air_leak"] = [{"q50": text, **where}]


def _ask_damp(document: Document, value: Any) -> None:
    tables = document.get("layer", [])
    if value == "none":
        for table in tables:
            table.pop("start_water", None)
        return
    offered = [v for v, _ in damp_of(document).choices[1:]]
    if isinstance(value, str) and offered:
        value = {"layer": offered[0]["layer"], "water": value}
    if not isinstance(value, dict) or not {"layer", "water"} <= set(value):
        raise InputError("say which layer, and its water, such as 25 %MC", "damp")
    table = next((t for t in tables if "material" in t and called(t) == value["layer"]), None)
    if table is None:
        raise InputError(f"no layer is called '{value['layer']}'", "damp")
    found = materials().get(str(table["material"]))
    parse(value["water"], "water_content", "damp", getattr(found, "density", None))
    for other in tables:
        other.pop("start_water", None)
    table.pop("start_humidity", None)
    table["start_water"] = value["water"]
