"""The loads of a case file, read and written: wettings, leaking air, ventilated gaps, rain that gets in."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ..case.assembly import Assembly, Layer
from ..case.sides import Side
from ..case.wetting import Wetting
from ..errors import InputError, nearest
from .schema import FIELDS
from .values import read_section, stated, within, write_section

if TYPE_CHECKING:
    from ..case.loads import Load

Given = dict[str, Any]
Period = tuple[np.datetime64, np.datetime64]
#: Density above which a layer is no gap [kg/m3]; open fibres are lighter (assumed).
SOLID = 200.0


def check_layer(name: str, assembly: Assembly, where: str) -> None:
    """Raise InputError unless a layer with a thickness has that name."""
    names = [layer.name for layer in assembly.layers]
    if name in (film.name for film in assembly.films):
        raise InputError(f"'{name}' is a film, which holds no water; {nearest('', names)}", f"{where}, layer")
    if name not in names:
        raise InputError(f"no layer is called '{name}'; {nearest(name, names)}", f"{where}, layer")


def _check_hollow(layer: Layer, where: str) -> None:
    """Raise InputError if a ventilated gap is a board or a wall, not air or something air can pass."""
    if layer.material.density > SOLID:
        what = f"'{layer.name}' is solid, {layer.material.density:g} kg/m3; a ventilated gap is a layer of air"
        raise InputError(f"{what}, such as 'air gap 25 mm'", f"{where}, layer")


def read_wetting(table: Given, where: str, assembly: Assembly, period: Period) -> Wetting:
    """Read one wetting, the first of which must lie in the period."""
    given = read_section(table, "wetting", where)
    name = given["layer"]
    check_layer(name, assembly, where)
    if not given["amount"] > 0.0:
        message = f"{table['amount']!r}: it must be greater than 0, such as '2 kg/m2'"
        raise InputError(message, f"{where}, amount")
    given["start"] = given.pop("date")
    with within(where):
        wetting = Wetting(**given)
    if wetting.start < period[0] or wetting.start + np.timedelta64(round(wetting.duration), "s") > period[1]:
        text = f"{str(period[0])[:10]} to {str(period[1])[:10]}"
        raise InputError(f"the wetting of '{name}' must lie within the period, {text}", f"{where}, date")
    return wetting


def read_load(kind: str, table: Given, where: str, assembly: Assembly, outside: Side) -> Load:
    """Read one load of `casefile.schema.LISTS` other than a wetting."""
    from ..case.loads import AirStream, RainShare, VentilatedGap

    given = read_section(table, kind, where)
    if kind == "rain_share" and type(table.get("share")) is int and given["share"] == 1.0:
        # Read as a fraction it is all of the rain, and whoever writes 1 means a hundredth.
        raise InputError("share 1 is all of the driving rain; write '1 %' or '100 %'", f"{where}, share")
    if given.get("layer"):
        check_layer(given["layer"], assembly, where)
        if kind == "ventilated_gap":
            _check_hollow(assembly.layers[assembly.layer_index(given["layer"])], where)
    with within(where):
        if kind == "air_leak":
            return _air_leak(given, where, outside)
        made: Any = {"ventilated_gap": VentilatedGap, "air_stream": AirStream, "rain_share": RainShare}[kind]
        found: Load = made(**given)
        return found


def _air_leak(given: Given, where: str, outside: Side) -> Load:
    from ..case.air_leakage import Leakage, LeakPath
    from ..case.loads import AirLeak

    if ("q50" in given) == ("n50" in given):
        what = "q50 and n50 are both there" if "q50" in given else "its blower-door figure is missing"
        raise InputError(f'{what}; give one, such as q50 = "3 m3/(m2 h)"', where)
    house = [k for k in ("volume", "area") if k in given]
    if "q50" in given and house:
        raise InputError("volume and area go with n50; leave them out", f"{where}, {house[0]}")
    if "n50" in given and len(house) < 2:
        raise InputError('n50 needs the volume of the house and the area of its envelope, "400 m3" and "500 m2"', where)
    exponent = {"exponent": given.pop("exponent")} if "exponent" in given else {}
    if "q50" in given:
        leakage = Leakage.from_q(given.pop("q50"), **exponent)
    else:
        leakage = Leakage.from_n50(*(given.pop(k) for k in ("n50", "volume", "area")), **exponent)
    exposure = getattr(outside, "exposure", None)
    way = {} if exposure is None else {"azimuth": exposure.azimuth, "wind_factor": exposure.wind_factor}
    names = {FIELDS.get(k, k): k for k in given}
    way |= {f: given.pop(k) for f, k in names.items() if f in LeakPath.__dataclass_fields__}
    return AirLeak(leakage, LeakPath(**way), **given)


def write_wetting(wetting: Wetting) -> str:
    """Return a wetting as text."""
    keys = {"layer": wetting.layer, "amount": wetting.amount, "date": wetting.start}
    return write_section("[[wetting]]", keys | stated(wetting, "wetting"), "wetting")


def write_load(load: Load, outside: Side) -> str:
    """Return a load as text."""
    from ..case.loads import AirLeak, AirStream, RainShare, VentilatedGap

    if isinstance(load, AirLeak):
        return _write_leak(load, outside)
    kinds: dict[type, str] = {VentilatedGap: "ventilated_gap", AirStream: "air_stream", RainShare: "rain_share"}
    kind = kinds[type(load)]
    return write_section(f"[[{kind}]]", {k: v for k, v in stated(load, kind).items() if v != ""}, kind)


def _write_leak(load: Any, outside: Side) -> str:
    from ..case.air_leakage import TEST_PRESSURE

    section = f"air_leak {load.way}"
    keys: Given = {"way": load.way, "q50": float(load.leakage.flow(TEST_PRESSURE)), **stated(load.leakage, "air_leak")}
    keys |= {k: v for k, v in stated(load, section).items() if v != ""}
    if load.way == "flow":
        keys |= stated(load.path, section)
        exposure = getattr(outside, "exposure", None)
        for key, field in (("orientation", "azimuth"), ("wind_factor", "wind_factor")):
            keys.pop(key, None)
            if getattr(load.path, field) != getattr(exposure, field, None):
                keys[key] = getattr(load.path, field)
    return write_section("[[air_leak]]", keys, section)
