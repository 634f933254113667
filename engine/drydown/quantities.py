"""The one table of quantities, and the reading and writing of values with units at the edge.

Inside drydown every number is SI. A person writes ``"5.5 in"``, ``"140 mm"``, ``"0.1 perm"``, ``"R-20"``,
``"sd 5 m"`` or ``"12 %MC"``; `parse` turns that into SI, `convert` and `show` turn SI into what a person
reads. pint does the arithmetic and is imported on first use, for all but the usual units.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal

from . import moist_air
from .errors import InputError, nearest
from .usual_units import USUAL

System = Literal["SI", "US"]

#: One US perm, 1 grain/(h ft2 inHg) with mercury at 0 degC [kg/(m2 s Pa)]: the "perm (0 degC)" of the
#: conversion tables of ASTM E96, 57.2135 ng/(Pa s m2). At 23 degC it is 57.4525, 0.4 % more.
PERM = 57.2135e-12
#: Vapour permeability of still air [kg/(m s Pa)] with which `sd` and `mu` are read: DIN 52615 at 296.15 K and
#: 101325 Pa.
AIR_PERMEABILITY = float(moist_air.vapour_permeability_din52615(296.15))


@dataclass(frozen=True)
class Quantity:
    """One row of the table.

    Parameters
    ----------
    name : str
    unit : str
        SI unit, in the notation of the CF conventions.
    long_name : str
    standard_name : str
        CF standard name; empty where none exists.
    example : str
        How a person may write a value, as it stands in an error.
    si, us : str
        Units in which people read it; empty: the SI unit.
    """

    name: str
    unit: str
    long_name: str
    standard_name: str = ""
    example: str = ""
    si: str = ""
    us: str = ""


#: name | SI unit | long name | CF standard name | how a person writes it | shown in SI | shown in US units
_TABLE = """
# geometry
thickness | m | thickness |  | '140 mm' or '5.5 in' | mm | in
length | m | length |  | '2.5 m' or '8 ft' | m | ft
angle | degree | angle |  | '90 deg' | degree | degree
# state
temperature | K | temperature |  | '20 degC' or '68 degF' | degC | degF
temperature_difference | K | temperature difference |  | '5 K' | K | delta_degF
humidity | 1 | relative humidity | relative_humidity | '80 %' or 0.8 | % | %
water_content | kg m-3 | water content by volume |  | '60 kg/m3' or '12 %MC' | kg/m3 | lb/ft3
moisture_content | 1 | moisture content by dry mass |  | '12 %MC' | % | %
vapour_pressure | Pa | vapour pressure | water_vapor_partial_pressure_in_air | '1200 Pa' | Pa | inHg
suction | Pa | suction (capillary pressure) |  | '1 MPa' | Pa | psi
pressure | Pa | pressure difference |  | '4 Pa' | Pa | inH2O
# amounts and rates
water_mass | kg m-2 | mass of water per area |  | '2.0 kg/m2' or '2 L/m2' or '0.4 lb/ft2' | kg/m2 | lb/ft2
moisture_flux | kg m-2 s-1 | moisture flux |  | '1 g/(m2 h)' | g/(m2 h) | lb/(ft2 h)
heat_flux | W m-2 | heat flux |  | '10 W/m2' | W/m2 | Btu/(h ft2)
energy | J m-2 | energy per area |  | '1 MJ/m2' | MJ/m2 | Btu/ft2
time | s | duration |  | '3 h' | h | h
moisture_rate | kg s-1 | moisture production |  | '8 kg/day' | kg/day | lb/day
air_change | s-1 | air change rate |  | '0.5 1/h' | 1/h | 1/h
air_leakage | m s-1 | air flow per area |  | '3 m3/(m2 h)' | m3/(m2 h) | ft3/(ft2 min)
volume | m3 | volume |  | '250 m3' | m3 | ft3
area | m2 | area |  | '10 m2' | m2 | ft2
# properties of materials
density | kg m-3 | dry bulk density |  | '450 kg/m3' | kg/m3 | lb/ft3
heat_capacity | J kg-1 K-1 | specific heat capacity |  | '1600 J/(kg K)' | J/(kg K) | Btu/(lb degF)
conductivity | W m-1 K-1 | thermal conductivity |  | '0.12 W/(m K)' | W/(m K) | Btu in/(h ft2 degF)
thermal_resistance | m2 K W-1 | thermal resistance |  | 'R-20' or '3.5 m2 K/W' | m2 K/W | h ft2 degF/Btu
heat_transfer | W m-2 K-1 | heat transfer coefficient |  | '8 W/(m2 K)' | W/(m2 K) | Btu/(h ft2 degF)
permeability | kg m-1 s-1 Pa-1 | vapour permeability |  | 'mu 50' or '2 ng/(Pa s m)' | ng/(Pa s m) | perm in
air_permeability | kg m-1 s-1 Pa-1 | air permeability, mass of air |  | '2.5e-4 kg/(m s Pa)' | kg/(m s Pa) |
permeance | kg m-2 s-1 Pa-1 | vapour permeance | | '0.1 perm' or 'sd 5 m' | ng/(Pa s m2) | perm
sd | m | vapour-diffusion-equivalent air layer thickness |  | '5 m' | m | ft
absorption | kg m-2 s-0.5 | water absorption coefficient |  | '0.004 kg/(m2 s^0.5)' | kg/(m2 s^0.5) |
liquid_conductivity | s | liquid conductivity |  | '1e-9 s' |  |
liquid_diffusivity | m2 s-1 | liquid diffusivity |  | '6e-10 m2/s' | m2/s | ft2/s
slope | W m2 kg-1 K-1 | rise of conductivity with water content |  | '4e-4 W m2/(kg K)' |  |
fraction | 1 | fraction |  | '5 %' or 0.05 | % | %
# weather
air_temperature | K | air temperature | air_temperature | '20 degC' | degC | degF
wind_speed | m s-1 | wind speed | wind_speed | '5 m/s' | m/s | mph
wind_direction | degree | direction the wind comes from | wind_from_direction | '270 deg' | degree |
rain | kg m-2 s-1 | rain | rainfall_flux | '2 mm/h' | kg/(m2 h) | lb/(ft2 h)
short_wave | W m-2 | short-wave | surface_downwelling_shortwave_flux_in_air | '500 W/m2' | W/m2 | Btu/(h ft2)
long_wave | W m-2 | long-wave | surface_downwelling_longwave_flux_in_air | '300 W/m2' | W/m2 | Btu/(h ft2)
"""


def _rows() -> dict[str, Quantity]:
    lines = [line for line in _TABLE.strip().splitlines() if not line.startswith("#")]
    rows = [Quantity(*(part.strip() for part in line.split("|"))) for line in lines]
    return {row.name: row for row in rows}


#: Every quantity by name.
QUANTITIES: dict[str, Quantity] = _rows()

_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_VALUE = re.compile(rf"\s*({_NUMBER})(?:(?:\s+|-)(\d+)\s*/\s*(\d+)|\s*/\s*(\d+)(?=[\s\"]))?\s*-?\s*(.*?)\s*")
_FEET = re.compile(r"\s*(\d+)\s*(?:'|ft\.?|feet|foot)\s*-?\s*(\d.*?(?:\"|''|\bin(?:\b\.?|ch(?:es)?)))\s*")
_NAMED_SCALE = re.compile(rf"(?:(sd|mu|RSI)\s*=?\s*|(R)[- ]?)({_NUMBER})\s*(.*)")
#: Units that people write in one word.
_RUN_TOGETHER = {
    "W/mK": "W/(m K)",
    "W/m K": "W/(m K)",
    "W/m2K": "W/(m2 K)",
    "W/m2 K": "W/(m2 K)",
    "m2K/W": "m2 K/W",
    "J/kgK": "J/(kg K)",
}
#: Units as they are said on site -> in one notation. Pints and gallons are those of the US.
_SITE = tuple(
    (re.compile(said, re.I), unit)
    for said, unit in (
        (r"\s+(?:per|on every|a)\s+", "/"),
        (r"\bin(?:ch(?:es)?|\.)?\s*(?:of water|H2O|w\.?\s*[cg]\.?)(?!\w)", "inH2O"),
        (r"\binch(?:es)? of mercury\b", "inHg"),
        (r"\bcfm(?:50)?\b", "(ft3/min)"),
        (r"\bsq(?:uare|\.)?\s*(?:f(?:oo|ee)?t\b|f\b)\.?|\bs\.?f\b\.?", "ft2"),
        (r"\bsq(?:uare|\.)?\s*m(?:et(?:re|er)s?)?\b", "m2"),
        (r"\bfl\.?\s*oz\b\.?|\bfluid ounces?\b", "fluid_ounce"),
        (r"\b(?:pints?|pt\.?)(?!\w)", "pint"),
        (r"\b(?:quarts?|qt\.?)(?!\w)", "quart"),
        (r"\b(?:gallons?|gal\.?)(?!\w)", "gallon"),
        (r"\blit(?:re|er)s?\b|(?<![\w.])l(?=\s*/)", "liter"),
        (r"\bpounds?\b|\blbs\b\.?", "lb"),
        (r"\bounces?\b", "oz"),
        (r"\bperms\b", "perm"),
        (r"\bmils\b", "mil"),
    )
)


def quantity(name: str) -> Quantity:
    """Return a row of the table.

    Raises
    ------
    InputError
        If no quantity has that name.
    """
    if name not in QUANTITIES:
        raise InputError(f"no quantity is called '{name}'; {nearest(name, QUANTITIES)}", "quantities")
    return QUANTITIES[name]


def attributes(name: str) -> dict[str, str]:
    """Return the CF attributes of a quantity: units, long_name and, where one exists, standard_name."""
    q = quantity(name)
    out = {"units": q.unit, "long_name": q.long_name}
    if q.standard_name:
        out["standard_name"] = q.standard_name
    return out


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint

    registry: Any = pint.UnitRegistry()
    registry.define(f"perm = {PERM!r} kg / (m**2 s Pa)")
    registry.define("percent_moisture = 0.01 = MC")
    return registry


_CF_POWER = re.compile(r"([A-Za-z])(-?\d(?:\.\d)?)(?![\d.])")


def _pint_text(unit: str, absolute: bool) -> str:
    """Return a unit in pint's notation: m2 -> m**2, degC inside a compound -> kelvin, perm-in -> perm in."""
    text = unit.replace("°", "deg").replace("²", "2").replace("³", "3").replace("·", " ").replace("%", "percent")
    for said, written in _SITE:
        text = said.sub(written, text)
    text = _RUN_TOGETHER.get(text, text)
    text = re.sub(r"\bin\.(?!\w)|\"$|\bin\b|''$", "inch", text)
    text = re.sub(r"^'$", "ft", text)
    text = re.sub(r"(?<=[A-Za-z])-(?=[A-Za-z])", " ", text)
    text = re.sub(r"\bmil\b", "thou", text).replace("inHg", "(3386.389 Pa)").replace("inH2O", "(249.082 Pa)")
    if absolute:
        text = re.sub(r"^(deg)?\s*([CF])$", r"deg\2", text.strip())
    else:
        text = re.sub(r"\b(?:delta_)?(?:deg)?C\b", "kelvin", text)
        text = re.sub(r"\b(?:delta_)?(?:deg)?F\b", "delta_degF", text)
    return _CF_POWER.sub(r"\1**(\2)", text)


def _scale(unit: str, name: str) -> tuple[float, float]:
    """Return (factor, offset) with SI = factor * value + offset; raise KeyError or ValueError."""
    return USUAL.get((unit, name)) or _found_scale(unit, name)


@lru_cache(maxsize=1024)
def _found_scale(unit: str, name: str) -> tuple[float, float]:
    """Return what pint finds for `_scale`."""
    import pint

    q = QUANTITIES[name]
    absolute = q.unit == "K" and name != "temperature_difference"
    registry = _registry()
    given = _pint_text(unit, absolute)
    try:
        if absolute:
            one, zero = (float(registry.Quantity(v, given).to("kelvin").magnitude) for v in (1.0, 0.0))
            return one - zero, zero
        target = registry.parse_expression(_pint_text(q.unit, False)) if q.unit != "1" else registry.Quantity(1.0)
        value = registry.Quantity(1.0) * registry.parse_expression(given)
        if name in ("rain", "water_mass", "moisture_rate") and not value.check(target.dimensionality):
            # A volume of water: litres, pints or gallons on an area, millimetres of rain.
            value = value * registry.Quantity(moist_air.WATER_DENSITY, "kg/m**3")
        return float((value / target).to("").magnitude), 0.0
    except pint.DimensionalityError as error:
        raise ValueError(unit) from error
    except Exception as error:  # pint raises many kinds for text that is no unit
        raise KeyError(unit) from error


def _wanted(q: Quantity) -> str:
    return f"write it as {q.example}"


def _plain(q: Quantity, value: float, where: str) -> float:
    """Take a number without a unit, which only a fraction may be."""
    if q.unit != "1":
        raise InputError(f"{q.long_name} {value:g} has no unit; {_wanted(q)}", where)
    if q.name == "humidity" and 1.0 < value <= 100.0:
        raise InputError(f"relative humidity {value:g}: write '{value:g} %' or {value / 100:g}", where)
    return value


def _special(q: Quantity, text: str, density: float | None, where: str) -> float | None:
    """Read the ways of writing that are no unit: R-20, RSI 3.5, sd 5 m, mu 50, 12 %MC; None: none of them."""
    if match := _NAMED_SCALE.fullmatch(text):
        scale, number, unit = match[1] or match[2], float(match[3]), match[4]
        if scale in ("R", "RSI") and q.name == "thermal_resistance" and not unit:
            return number * (_scale("h ft2 degF/Btu", q.name)[0] if scale == "R" else 1.0)
        if scale == "mu" and q.name == "permeability" and not unit:
            return AIR_PERMEABILITY / number if number > 0.0 else _refuse(q, text, where)
        if scale == "sd" and q.name in ("permeance", "sd"):
            sd = parse(f"{number} {unit}", "length", where)
            if not sd > 0.0:
                return _refuse(q, text, where)
            return sd if q.name == "sd" else AIR_PERMEABILITY / sd
        return _refuse(q, text, where)
    if match := re.fullmatch(rf"({_NUMBER})\s*%\s*(MC|RH|vol)", text):
        number, sign = float(match[1]) / 100.0, match[2]
        if (sign == "RH") == (q.name == "humidity") and q.name in ("humidity", "moisture_content"):
            return number if sign != "vol" else _refuse(q, text, where)
        if q.name == "water_content" and sign == "vol":
            return number * moist_air.WATER_DENSITY
        if q.name == "water_content" and sign == "MC":
            if density is None:
                raise InputError(f"'{text}' needs the dry density of the material; write kg/m3 instead", where)
            return number * density
        return _refuse(q, text, where)
    return None


def _refuse(q: Quantity, text: str, where: str) -> float:
    raise InputError(f"'{text}' is no {q.long_name}; {_wanted(q)}", where)


def parse(given: Any, name: str, where: str = "", density: float | None = None) -> float:
    """Read a value with its unit.

    Parameters
    ----------
    given : str or number
        ``"5.5 in"``, ``"5 1/2 in"``, ``"7-1/4 in"``, ``"140 mm"``, ``"0.1 gal/ft2"``, ``"0.1 perm"``,
        ``"R-20"``, ``"sd 5 m"``, ``"mu 50"``,
        ``"12 %MC"``, ``"80 %"``. A bare number only for a quantity without a unit (humidity 0.8).
    name : str
        Name of the quantity in `QUANTITIES`.
    where : str
        What the error shall point at.
    density : float, optional
        Dry density [kg/m3], with which ``"12 %MC"`` is read as a water content.

    Returns
    -------
    float
        Value in the SI unit of the table. `sd` and `mu` are read with `AIR_PERMEABILITY`.

    Raises
    ------
    InputError
        No unit, an unknown unit, a unit of another kind, or a humidity beyond 0 to 1.
    """
    q = quantity(name)
    if isinstance(given, bool) or not isinstance(given, str | int | float):
        raise InputError(f"{q.long_name} is {given!r}; {_wanted(q)}", where)
    if isinstance(given, str):
        text = given.strip()
        special = _special(q, text, density, where)
        value = _with_unit(q, text, where) if special is None else special
    else:
        value = _plain(q, float(given), where)
    if not math.isfinite(value):
        raise InputError(f"{q.long_name} is {given}; a finite number is needed", where)
    if name == "humidity" and not 0.0 <= value <= 1.0:
        raise InputError(f"relative humidity is {value:g}; it must lie between 0 and 1 (0 and 100 %)", where)
    if q.unit == "K" and name != "temperature_difference" and value <= 0.0:
        raise InputError(f"{q.long_name} {given} lies below absolute zero", where)
    return value


def _with_unit(q: Quantity, text: str, where: str) -> float:
    if q.unit == "m" and (feet := _FEET.fullmatch(text)):
        return float(feet[1]) * _scale("ft", q.name)[0] + _with_unit(q, feet[2], where)
    match = _VALUE.fullmatch(text)
    if not match:
        raise InputError(f"'{text}' does not begin with a number; {_wanted(q)}", where)
    number, unit = float(match[1]), match[5]
    over = float(match[3] or match[4] or 1)
    if over == 0.0:
        _refuse(q, text, where)
    if match[2]:
        number += math.copysign(float(match[2]) / over, number)
    elif match[4]:
        number /= over
    if re.match(r"\d(?!\s*/)", unit):
        _refuse(q, text, where)
    if unit.startswith(","):
        raise InputError(f"'{text}': write the decimal point as '.', not ','", where)
    if not unit:
        return _plain(q, number, where)
    return _apply(q, number, unit, text, where)


def _apply(q: Quantity, number: float, unit: str, text: str, where: str) -> float:
    if q.unit == "degree" and unit in ("%", "percent"):
        _refuse(q, text, where)  # a share would be read as radians, and on a roof a slope may be meant
    try:
        factor, offset = _scale(unit, q.name)
    except KeyError:
        raise InputError(f"'{unit}' in '{text}' is no known unit; {_wanted(q)}", where) from None
    except ValueError:
        raise InputError(f"'{text}' is no {q.long_name}; {_wanted(q)}", where) from None
    return factor * number + offset


def parse_many(given: Any, name: str, where: str = "", density: float | None = None) -> tuple[float, ...]:
    """Read several numbers that share one unit, ``"10 30 50 70 90 %"``, or a list of values.

    Raises
    ------
    InputError
        As `parse`.
    """
    if isinstance(given, list | tuple):
        return tuple(parse(v, name, where, density) for v in given)
    if not isinstance(given, str):
        return (parse(given, name, where, density),)
    match = re.match(rf"\s*((?:{_NUMBER}(?:\s+|$))*(?:{_NUMBER}))\s*(.*)", given.strip())
    if not match:
        return (parse(given, name, where, density),)
    return tuple(parse(f"{n} {match[2]}".strip(), name, where, density) for n in match[1].split())


def convert(value: Any, name: str, system: System = "SI") -> Any:
    """Return SI values (number or array) in the unit people read: `unit_label(name, system)`."""
    q = quantity(name)
    shown = q.us if system == "US" and q.us else q.si
    if not shown:
        return value
    factor, offset = _scale(shown, name)
    return (value - offset) / factor


def unit_label(name: str, system: System = "SI") -> str:
    """Return the unit in which people read a quantity, for the axis of a figure."""
    q = quantity(name)
    label = (q.us if system == "US" and q.us else q.si) or q.unit
    return label.replace("delta_degF", "degF").replace("inHg", "in Hg").replace("inH2O", "in H2O")


def show(value: float, name: str, system: System = "SI", digits: int = 3) -> str:
    """Return a value as people read it: ``show(0.14, "thickness", "US") == "5.51 in"``."""
    number = f"{float(convert(value, name, system)):.{digits}g}"
    number = f"{float(number):.0f}" if re.search(r"e\+0[1-6]", number) else number
    label = unit_label(name, system)
    return number if label == "1" else f"{number} {label}"
