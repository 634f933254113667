"""How the tables of a catalogue file become property curves: one small function for each family."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from ..errors import InputError, nearest
from ..materials import curves
from ..materials.gaps import AirGap
from ..materials.model import CurveLike
from ..quantities import parse
from .table import Table


def _family(table: Table, builders: dict[str, Any], default: str) -> Any:
    name = table.raw("family", default)
    if name not in builders:
        raise InputError(f"family is {name!r}; {nearest(str(name), builders)}", table.where)
    return builders[name]


def gap(table: Table) -> tuple[AirGap, float]:
    """Return the law of an air gap and the thickness [m] at which the entry is listed."""
    emissivity = table.numbers("emissivity") if table.has("emissivity") else (0.9, 0.9)
    if len(emissivity) != 2:
        raise InputError("two numbers are needed, one for each face: [0.9, 0.05]", table.at("emissivity"))
    return AirGap(table.raw("flow", "horizontal"), (emissivity[0], emissivity[1])), table.value("listed", "thickness")


def conductivity(table: Table, density: float) -> CurveLike:
    """Return the thermal conductivity [W/(m K)] of water content [kg/m3]."""
    if table.has("family"):
        if _family(table, {"wood": "wood", "gap": "gap"}, "wood") == "gap":
            law, thickness = gap(table)
            return curves.Constant(thickness / law.resistance(thickness))
        gravity = density / 1000.0
        dry = float(curves.wood_conductivity(0.0, gravity))
        return curves.Linear(dry, (float(curves.wood_conductivity(0.1, gravity)) - dry) / (0.1 * density))
    dry = table.value("dry", "conductivity")
    if table.has("per_moisture"):
        return curves.Linear(dry, dry * table.number("per_moisture") / density)
    slope = table.value("slope", "slope", 0.0)
    return curves.Linear(dry, slope) if slope else curves.Constant(dry)


def _storage_points(table: Table, saturation: float, density: float) -> CurveLike:
    limit = table.value("limit", "water_content") if table.has("limit") else None
    return curves.sorption_points(
        table.values("humidity", "humidity"),
        table.values("water", "water_content"),
        saturation,
        table.value("pores", "suction", 1e5),
        table.number("n", 2.0),
        limit,
    )


def _storage_straight(table: Table, saturation: float, density: float) -> CurveLike:
    line = curves.Linear(0.0, table.value("limit", "water_content"), "humidity")
    return curves.WithTail(line, saturation, table.value("pores", "suction", 1e3), table.number("n", 2.0))


def _storage_wood(table: Table, saturation: float, density: float) -> CurveLike:
    wood = curves.WoodSorption(density)
    return curves.WithTail(wood, saturation, table.value("pores", "suction", 1.7e5), table.number("n", 3.0))


def _storage_hansen(table: Table, saturation: float, density: float) -> CurveLike:
    return curves.Hansen(saturation, table.number("a"), table.number("n"))


def _storage_retention(table: Table, saturation: float, density: float) -> CurveLike:
    pores = table.values("pores", "suction")
    share = table.numbers("share") if table.has("share") else (1.0,)
    return curves.Retention(saturation, tuple(1.0 / p for p in pores), table.numbers("n"), share)


_STORAGE: dict[str, Callable[[Table, float, float], CurveLike]] = {
    "points": _storage_points,
    "straight": _storage_straight,
    "wood": _storage_wood,
    "hansen": _storage_hansen,
    "retention": _storage_retention,
}


def storage(table: Table, saturation: float, density: float) -> CurveLike:
    """Return the storage curve [kg/m3]."""
    found: CurveLike = _family(table, _STORAGE, "points")(table, saturation, density)
    return found


def _vapour_points(table: Table, q: str) -> CurveLike:
    """Permeability from its own points, or from the permeance of a stated thickness."""
    humidity = table.values("humidity", "humidity")
    if q == "permeability" and table.has("permeance"):
        thickness = table.value("thickness", "thickness")
        values = tuple(thickness * v for v in table.values("permeance", "permeance"))
    else:
        values = table.values(q, q)
    return curves.permeance_points(humidity, values)


def _vapour_constant(table: Table, q: str) -> CurveLike:
    if q == "permeability" and table.has("permeance"):
        return curves.Constant(table.value("thickness", "thickness") * table.value("permeance", "permeance"))
    return curves.Constant(table.value(q, q))


def _vapour_two_level(table: Table, q: str) -> CurveLike:
    start, end = table.value("start", "humidity", 0.6), table.value("end", "humidity", 0.8)
    return curves.TwoLevel(table.value("closed", q), table.value("open", q), start, end)


def _vapour_logistic(table: Table, q: str) -> CurveLike:
    middle, width = table.value("middle", "humidity", 0.65), table.value("width", "fraction", 0.08)
    return curves.Logistic(table.value("closed", q), table.value("open", q), middle, width)


def _vapour_exponential(table: Table, q: str) -> CurveLike:
    return curves.Exponential(table.value("dry", q), table.value("rise", q), table.number("growth"))


def _vapour_cups(table: Table, q: str) -> CurveLike:
    return curves.from_cups(table.value("dry", q), table.value("wet", q))


_VAPOUR: dict[str, Callable[[Table, str], CurveLike]] = {
    "cups": _vapour_cups,
    "points": _vapour_points,
    "constant": _vapour_constant,
    "two-level": _vapour_two_level,
    "logistic": _vapour_logistic,
    "exponential": _vapour_exponential,
}


def _plain_vapour(given: str, quantity: str, where: str) -> float:
    try:
        return parse(given, quantity, where)
    except InputError:
        if quantity != "permeability":
            raise
        try:
            parse(given, "permeance", where)
        except InputError:
            pass
        else:
            raise InputError(
                f'\'{given}\' is a permeance; say of which thickness: {{ permeance = "{given}", thickness = "1 in" }}',
                where,
            ) from None
        raise


def vapour(given: Any, where: str, quantity: str) -> CurveLike:
    """Return the permeability [kg/(m s Pa)] or permeance [kg/(m2 s Pa)] of humidity [-]."""
    if isinstance(given, str):
        return curves.Constant(_plain_vapour(given, quantity, where))
    table = Table.of(given, where)
    curve: CurveLike = _family(table, _VAPOUR, "points" if table.has("humidity") else "constant")(table, quantity)
    table.done()
    return curve


#: Humidity [-] of the wetter side of the usual wet cup: set C of ISO 12572, 50 against 93 % (from memory). A value
#: printed at 90 % comes from a cup with a side wetter than that.
_WET_CUP = 0.93
#: Humidity [-] at which specimens are kept before an uptake test (ISO 15148, from memory).
_LABORATORY = 0.5


def measured_up_to(given: Any, where: str) -> float:
    """Return the humidity [-] up to which cups measured a permeability, liquid flow included.

    93 %, or the last humidity of a curve through points that go further; 0 for a plain value: vapour alone.
    """
    if not isinstance(given, dict):
        return 0.0
    if given.get("family", "points") == "points" and "humidity" in given:
        return max(_WET_CUP, Table.of(given, where).values("humidity", "humidity")[-1])
    return 0.0 if given.get("family", "constant") == "constant" else _WET_CUP


def held(permeability: CurveLike, given: Any, where: str) -> CurveLike:
    """Return a permeability that stays where it is above its last cup: from there on liquid is added to it."""
    last = measured_up_to(given, where)
    if last == 0.0:
        return permeability
    return curves.Held(permeability, last if last <= _WET_CUP else min(last + 0.03, 0.99))


def liquid(table: Table, saturation: float, storage: CurveLike, measured: float) -> dict[str, CurveLike]:
    """Return the field of `Material` and its curve: a diffusivity, or a conductivity K as a polynomial.

    `measured` is the humidity [-] up to which the vapour permeability holds the liquid flow, unless `above` says.
    """
    if table.has("absorption"):
        absorption = table.value("absorption", "absorption")
        capillary = table.value("capillary", "water_content", saturation)
        factor = table.number("factor", 1.0)
        above = table.value("above", "humidity", measured)
        water = curves.by_humidity(storage)
        held = water(above) if above > 0.0 else 0.0
        curve = curves.AbsorptionDiffusivity(absorption, capillary, factor, held, saturation, water(_LABORATORY))
        return {"diffusivity": curve}
    if table.has("polynomial"):
        low, high = table.value("low", "water_content", 0.0), table.value("high", "water_content", saturation)
        centre, scale = table.value("centre", "water_content", 0.0), table.value("scale", "water_content")
        polynomial = table.numbers("polynomial")
        return {"liquid": curves.PolynomialConductivity(polynomial, low, high, centre, scale)}
    dry = table.value("dry", "liquid_diffusivity")
    return {"diffusivity": curves.ExponentialDiffusivity(dry, table.number("growth", 0.0), saturation)}
