"""The variables of a result: dimensions, unit, long name, CF standard name where one exists.

temperature, relative_humidity, water_content (time, cell)
    State of every finite volume: [K], [-], [kg m-3].
ice_content (time, cell)
    What of the water is ice [kg m-3]; only where a material freezes.
layer_water (time, layer)
    Water stored in each layer [kg m-2].
vapour_passed, liquid_passed, convected_vapour_passed, heat_passed (time, interface)
    Time integrals of the flux through the two surfaces and the inner face of every layer, positive from
    outside to inside: vapour by diffusion, liquid, vapour carried by an air flow [kg m-2], enthalpy [J m-2].
face_temperature, face_humidity_outer_side, face_humidity_inner_side (time, interface)
    The faces themselves: temperature [K], and relative humidity of the pore air right at the face, on its outer and on
    its inner side (alike where no film lies there) [-]; at a surface the side of the air is that of the film's own
    surface. Where two films lie on each other they are one face: its sides are those of the layers beyond.
vapour_through, liquid_through, convected_vapour_through, heat_through (time, face)
    The same through every face between cells, the two surfaces among them; where `Keep.faces` asks for it.
water_added (time, wetting)
    Water put in by each wetting so far [kg m-2].
load_water (time, load_term)
    Water brought in by each load so far [kg m-2]: by the ventilation of a gap (negative: it dries), by the end of
    an air flow in a gap, by leaking air that condenses, by a share of the rain.
load_heat (time, load_term)
    Enthalpy brought in by moving air [J m-2]; what rain brings arrives at the temperature of its place and is not
    counted here.
load_passed_on (time, load_term)
    What of that the pores of its place had no room for, and a layer beside it took that draws water (the coordinate
    `load_neighbour` names it) [kg m-2].
load_refused (time, load_term)
    What of a share of the rain found no room in the pores and ran off [kg m-2].
rain_offered, rain_run_off (time)
    Driving rain that reached the outer surface, and what of it was not taken up [kg m-2].
outside_temperature, outside_vapour_pressure, outside_heat_transfer, outside_vapour_transfer, outside_radiation (time)
    What the outer surface meets at the mark: temperature [K] and vapour pressure [Pa] of the air (of the surface, where
    they are imposed on it), transfer coefficients of heat [W m-2 K-1] and vapour [kg m-2 s-1 Pa-1], absorbed short-wave
    and long-wave radiation [W m-2]. `inside_...`: the same inside.
film_permeance (time, film)
    Permeance that each film has at the mark [kg m-2 s-1 Pa-1], read between the humidities of its two sides.
"""

from __future__ import annotations

from typing import NamedTuple


class Variable(NamedTuple):
    """One variable of a result."""

    dimensions: tuple[str, ...]
    unit: str
    long_name: str
    standard_name: str = ""


_PASSED = {
    "vapour": ("kg m-2", "vapour passed inward so far"),
    "liquid": ("kg m-2", "liquid water passed inward so far"),
    "convected_vapour": ("kg m-2", "vapour carried inward by air flow so far"),
    "heat": ("J m-2", "enthalpy passed inward so far"),
}
#: The state of the faces themselves.
FACE_STATES = {
    "face_temperature": Variable(("time", "interface"), "K", "temperature of the face"),
    "face_humidity_outer_side": Variable(
        ("time", "interface"), "1", "relative humidity at the face, on its outer side", "relative_humidity"
    ),
    "face_humidity_inner_side": Variable(
        ("time", "interface"), "1", "relative humidity at the face, on its inner side", "relative_humidity"
    ),
}
#: What is always there.
VARIABLES: dict[str, Variable] = {
    "temperature": Variable(("time", "cell"), "K", "temperature"),
    "relative_humidity": Variable(("time", "cell"), "1", "relative humidity of the pore air", "relative_humidity"),
    "water_content": Variable(("time", "cell"), "kg m-3", "water content"),
    "layer_water": Variable(("time", "layer"), "kg m-2", "water stored in the layer"),
    **FACE_STATES,
    **{f"{what}_passed": Variable(("time", "interface"), *words) for what, words in _PASSED.items()},
    "water_added": Variable(("time", "wetting"), "kg m-2", "water added by wettings so far"),
    "load_water": Variable(("time", "load_term"), "kg m-2", "water brought in by the load so far"),
    "load_heat": Variable(("time", "load_term"), "J m-2", "enthalpy brought in by moving air so far"),
    "load_passed_on": Variable(
        ("time", "load_term"),
        "kg m-2",
        "water of the load that its place had no room for and its neighbour took so far",
    ),
    "load_refused": Variable(("time", "load_term"), "kg m-2", "water of the load that found no room so far"),
    "rain_offered": Variable(("time",), "kg m-2", "driving rain on the outer surface so far"),
    "rain_run_off": Variable(("time",), "kg m-2", "driving rain not taken up so far"),
    **{
        f"{side}_{name}": Variable(("time",), unit, f"{words} at the {which} surface", standard)
        for side, which in (("outside", "outer"), ("inside", "inner"))
        for name, unit, words, standard in (
            ("temperature", "K", "temperature of the air", "air_temperature"),
            ("vapour_pressure", "Pa", "vapour pressure of the air", "water_vapor_partial_pressure_in_air"),
            ("heat_transfer", "W m-2 K-1", "heat transfer coefficient", ""),
            ("vapour_transfer", "kg m-2 s-1 Pa-1", "vapour transfer coefficient", ""),
            ("radiation", "W m-2", "absorbed short-wave and long-wave radiation", ""),
        )
    },
}
#: Only where a material freezes.
ICE = {"ice_content": Variable(("time", "cell"), "kg m-3", "ice in the pores")}
#: Only where there is a film.
FILMS = {"film_permeance": Variable(("time", "film"), "kg m-2 s-1 Pa-1", "vapour permeance of the film at the mark")}
#: Only where they are asked for.
FACES = {f"{what}_through": Variable(("time", "face"), *words) for what, words in _PASSED.items()}
#: Every name.
ALL = (*VARIABLES, *ICE, *FILMS, *FACES)
