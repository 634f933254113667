"""The inner side of a case file, read and written."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from ..case.sides import Chamber, Side
from ..errors import InputError
from .outside import read_chamber
from .schema import FIELDS
from .values import stated, within, write_section

Given = dict[str, Any]
Kept = dict[Any, Any]


def read_inside(given: Given, path: Path, kept: Kept) -> Side:
    """Return the inner side of the section [inside] of a case file at `path`."""
    from ..sides import indoor
    from ..sides.indoor_balance import MoistureBalance
    from ..sides.indoor_design import SimplifiedHumidity

    where = f"{path}, inside"
    keys = {FIELDS.get(k, k): v for k, v in given.items() if k != "model"}
    model = given.get("model", "normal occupancy")
    if model == "chamber":
        with within(where):
            return read_chamber(keys)
    surface = getattr(indoor, keys.pop("surface", "wall").upper())
    film = {k: keys.pop(k, getattr(surface, k)) for k in ("heat_transfer", "vapour_transfer")}
    models: dict[str, Any] = {
        "constant": indoor.Constant,
        "normal occupancy": indoor.FromOutdoor,
        "high occupancy": lambda **k: indoor.FromOutdoor(high_occupancy=True, **k),
        "humidity class": indoor.HumidityClass,
        "simplified": SimplifiedHumidity,
        "intermediate": lambda **k: _intermediate(k, where),
        "annual": indoor.AnnualSine,
        "air conditioned": indoor.AirConditioned,
        "balance": lambda **k: MoistureBalance(**_produced(k, where)),
        "measured": lambda **k: _measured(k, path, where, kept),
    }
    with within(where):
        return indoor.Indoor(models[model](**keys), **film)


def _produced(keys: Given, where: str) -> Given:
    from ..sides.indoor_balance import dwelling_production

    if ("bedrooms" in keys) == ("production" in keys):
        what = "bedrooms and production are both there" if "bedrooms" in keys else "no moisture is produced"
        raise InputError(f'{what}; give one, such as bedrooms = 3 or production = "8 kg/day"', where)
    if "bedrooms" in keys:
        keys["production"] = dwelling_production(keys.pop("bedrooms"))
    return keys


def _intermediate(keys: Given, where: str) -> Any:
    from ..sides.indoor_design import AIR_CHANGES, IntermediateHumidity

    if "construction" in keys and "air_changes" in keys:
        raise InputError("construction and air_changes are both there; give one", where)
    if "construction" in keys:
        keys["air_changes"] = AIR_CHANGES[keys.pop("construction")]
    return IntermediateHumidity(**_produced(keys, where))


def _measured(keys: Given, path: Path, where: str, kept: Kept) -> Any:
    from ..sides.indoor_measured import Measured, read_indoor

    key = "indoor air", keys["file"]
    if key not in kept:
        with within(f"{where}, file"):
            kept[key] = read_indoor(path.parent / keys["file"]).record
    record = kept[key]
    return Measured(replace(record, cyclic=keys.get("repeat", record.cyclic)))


def write_inside(side: Side, path: Path) -> list[str]:
    """Return the section [inside]; measured air is written beside `path`."""
    from ..sides import indoor
    from ..sides.indoor_balance import MoistureBalance
    from ..sides.indoor_design import IntermediateHumidity, SimplifiedHumidity
    from ..sides.indoor_measured import Measured, write_indoor

    if isinstance(side, Chamber):
        keys: Given = {"model": "chamber", **stated(side, "inside chamber")}
        return [write_section("[inside]", keys, "inside chamber")]
    if not isinstance(side, indoor.Indoor):
        raise InputError(f"an inner side of the kind {type(side).__name__} cannot be written", str(path))
    words: dict[type, str] = {
        indoor.Constant: "constant",
        indoor.FromOutdoor: "normal occupancy",
        indoor.HumidityClass: "humidity class",
        SimplifiedHumidity: "simplified",
        IntermediateHumidity: "intermediate",
        indoor.AnnualSine: "annual",
        indoor.AirConditioned: "air conditioned",
        MoistureBalance: "balance",
        Measured: "measured",
    }
    model = side.model
    if type(model) not in words:
        raise InputError(f"indoor air of the kind {type(model).__name__} cannot be written", str(path))
    word = words[type(model)]
    if isinstance(model, indoor.FromOutdoor) and model.high_occupancy:
        word = "high occupancy"
    keys = {"model": word}
    if isinstance(model, Measured):
        beside = path.with_name(f"{path.stem}_indoor.csv")
        write_indoor(model, beside)
        keys["file"] = beside.name
    else:
        keys |= stated(model, f"inside {word}")
    return [write_section("[inside]", keys | _film(side, word), f"inside {word}")]


def _film(side: Any, word: str) -> Given:
    from ..sides import indoor

    for name in ("wall", "ceiling", "floor"):
        if (side.heat_transfer, side.vapour_transfer) == getattr(indoor, name.upper()):
            return {} if name == "wall" else {"surface": name}
    return stated(side, f"inside {word}")
