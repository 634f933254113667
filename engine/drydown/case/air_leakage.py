"""Air leaks: from a blower-door figure through stack and wind pressure to a flow, and the water it leaves.

Signs: a pressure difference is outside minus inside, a flow is positive from outside to inside, as every
flux of the engine; warm air leaking out in winter is negative.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from .. import moist_air
from ..arrays import Array
from ..climate.model import Climate, Hours, Times
from ..errors import InputError

#: Acceleration of gravity [m/s2] (standard) and gas constant of dry air [J/(kg K)] (from memory).
GRAVITY, R_AIR = 9.80665, 287.055
#: Pressure of a blower-door figure [Pa].
TEST_PRESSURE = 50.0
#: Exponent of the flow where none was measured [-]. Source: ASHRAE Handbook Fundamentals 2021, ch. 16.
EXPONENT = 0.65
#: Leak coefficient of the screening source [m3/(m2 s Pa)] by class: A where q50 is at most 1 m3/(m2 h), B at
#: most 3, C at most 5. Source: Kuenzel, Zirkelbach and Schafaczek (BEST3, 2012), 0.004, 0.007 and
#: 0.010 m3/(m2 h Pa) (from memory).
SCREENING = {"A": 0.004 / 3600.0, "B": 0.007 / 3600.0, "C": 0.010 / 3600.0}
#: Air through a joint at 50 Pa by what seals it [m3/(s m)]: sill plate on concrete, full width. Source: a Swedish
#: laboratory, quoted (0.2, 0.4 and 17 m3/(h m)); taped: no flow found; foamed: below 1 % of the open joint, quoted of
#: ASTM STP, taken of bitumen felt's.
JOINTS = {
    "cellular rubber": 0.2 / 3600.0,
    "foam strip": 0.4 / 3600.0,
    "foamed": 0.17 / 3600.0,
    "taped": 0.0,
    "bare": 17.0 / 3600.0,
}
#: Share of a house's leakage that passes its walls [-]: least, mean, most. Source: ASHRAE Handbook Fundamentals 2021,
#: ch. 16.
OF_WALLS = (0.18, 0.35, 0.50)
#: Share of a house's envelope that is wall [-] (assumed).
WALL_AREA = 0.5
#: q50 up to which a class holds [m3/(m2 h)].
Q50_OF_CLASS = {"A": 1.0, "B": 3.0, "C": 5.0}


def air_density(temperature: Any, pressure: float = moist_air.STANDARD_PRESSURE) -> Any:
    """Density of dry air [kg/m3] of temperature [K] and pressure [Pa]; ideal gas."""
    return pressure / (R_AIR * np.asarray(temperature, dtype=float))


@dataclass(frozen=True)
class Leakage:
    """How much air passes a square metre of the envelope.

    Parameters
    ----------
    coefficient : float
        [m3/(m2 s Pa^n)].
    exponent : float
        n [-]: 0.5 an orifice, 1 a long crack; 0.6 to 0.7 for whole buildings.

    Notes
    -----
    Q = C dp^n. Source: ASHRAE Handbook Fundamentals 2021, ch. 16, eq. 40; n there typically 0.65. The flow is
    spread evenly over the envelope; real leaks are local.
    """

    coefficient: float
    exponent: float = EXPONENT

    def __post_init__(self) -> None:
        if not (np.isfinite(self.coefficient) and self.coefficient >= 0.0):
            raise InputError(f"the flow coefficient is {self.coefficient:g}; it cannot be below 0", "leakage")
        if not 0.5 <= self.exponent <= 1.0:
            raise InputError(f"exponent is {self.exponent:g}; it must lie between 0.5 and 1", "leakage")

    @classmethod
    def from_q(cls, flow: float, pressure: float = TEST_PRESSURE, exponent: float = EXPONENT) -> Leakage:
        """Return the leakage of a flow per area [m3/(m2 s)] at a pressure [Pa], such as q50.

        Parameters
        ----------
        flow : float
            Air flow per area at the pressure [m/s].
        pressure : float
            Pressure difference [Pa].
        exponent : float
            Of the flow with the pressure [-].
        """
        if not 0.0 <= flow <= 0.1:
            raise InputError(
                f"the flow at {pressure:g} Pa is {flow * 3600.0:g} m3/(m2 h); it must lie between 0 and 360",
                "leakage",
            )
        if not 0.5 <= exponent <= 1.0:
            raise InputError(f"exponent is {exponent:g}; it must lie between 0.5 and 1", "leakage")
        if not pressure > 0.0:
            raise InputError(f"the test pressure is {pressure:g} Pa; it must be greater than 0", "leakage")
        return cls(flow / pressure**exponent, exponent)

    @classmethod
    def from_n50(cls, n50: float, volume: float, area: float, exponent: float = EXPONENT) -> Leakage:
        """Return the leakage of air changes at 50 Pa [1/s], volume [m3] and area of the envelope [m2].

        Parameters
        ----------
        n50 : float
            Air change at 50 Pa [1/s].
        volume : float
            Of the air inside [m3].
        area : float
            Of the envelope [m2].
        exponent : float
            Of the flow with the pressure [-].
        """
        for name, value in (("volume", volume), ("area", area)):
            if not 0.0 < value < np.inf:
                raise InputError(f"{name} is {value:g}; it must be a number greater than 0", "leakage")
        return cls.from_q(n50 * volume / area, TEST_PRESSURE, exponent)

    @classmethod
    def from_joint(cls, kind: str, length: float, area: float, exponent: float = EXPONENT) -> Leakage:
        """Return the leakage of a joint of `JOINTS`, length [m] in an area of wall [m2].

        Parameters
        ----------
        kind : str
            One of `JOINTS`.
        length : float
            Of the joint [m].
        area : float
            Of the wall that it runs through [m2].
        exponent : float
            Of the flow with the pressure [-].
        """
        if kind not in JOINTS:
            raise InputError(f"no joint is called '{kind}'; known: {', '.join(JOINTS)}", "leakage")
        for name, value in (("length", length), ("area", area)):
            if not 0.0 < value < np.inf:
                raise InputError(f"{name} is {value:g}; it must be a number greater than 0", "leakage")
        return cls.from_q(JOINTS[kind] * length / area, TEST_PRESSURE, exponent)

    def flow(self, pressure: Any) -> Any:
        """Return the flow [m3/(m2 s)] of a pressure difference [Pa], with its sign.

        Parameters
        ----------
        pressure : float or array
            Pressure difference [Pa].
        """
        dp = np.asarray(pressure, dtype=float)
        return np.sign(dp) * self.coefficient * np.abs(dp) ** self.exponent

    def area(self, pressure: float = 4.0, discharge: float = 1.0, density: float = 1.2) -> float:
        """Return the effective leakage area per area of envelope [m2/m2].

        Parameters
        ----------
        pressure : float
            Pressure difference [Pa].
        discharge : float
            Discharge coefficient [-].
        density : float
            Of the air [kg/m3].

        Notes
        -----
        A_L = Q_r sqrt(rho/(2 dp_r))/C_D; C_D 1.0 at 4 Pa, 0.611 at 10 Pa. Source: ASHRAE Handbook
        Fundamentals 2021, ch. 16.
        """
        return float(self.flow(pressure) * np.sqrt(density / (2.0 * pressure)) / discharge)


def stack_gradient(outdoor_temperature: Any, indoor_temperature: Any) -> Any:
    """Stack pressure per metre of height [Pa/m].

    Parameters
    ----------
    outdoor_temperature, indoor_temperature : array_like
        [K].

    Returns
    -------
    array
        Positive where it is warmer inside: above the neutral level the pressure inside then exceeds that
        outside by this per metre.

    Notes
    -----
    g rho_o (T_i - T_o)/T_i. Source: ASHRAE Handbook Fundamentals 2021, ch. 16.
    """
    outside = np.asarray(outdoor_temperature, dtype=float)
    inside = np.asarray(indoor_temperature, dtype=float)
    return GRAVITY * air_density(outside) * (inside - outside) / inside


def wind_pressure(speed: Any, coefficient: Any = 1.0, outdoor_temperature: Any = 283.15) -> Any:
    """Pressure of the wind on a surface [Pa]: coefficient rho_o U^2/2, U [m/s] at the height of the building.

    Source: ASHRAE Handbook Fundamentals 2021, ch. 16.
    """
    return np.asarray(coefficient) * 0.5 * air_density(outdoor_temperature) * np.asarray(speed, dtype=float) ** 2


def pressure_coefficient(wind_direction: Any, azimuth: float) -> Any:
    """Mean pressure coefficient of a wall [-] by the direction of the wind [degree].

    Notes
    -----
    0.6 where it faces the wind, -0.65 beside, -0.3 behind (low-rise; ASHRAE Handbook Fundamentals 2021,
    ch. 16), straight lines in the angle between (assumed).
    """
    turn = np.abs((np.asarray(wind_direction, dtype=float) - azimuth + 180.0) % 360.0 - 180.0)
    return np.interp(turn, [0.0, 90.0, 180.0], [0.6, -0.65, -0.3])


@dataclass(frozen=True)
class LeakPath:
    """Where a leak lies, for the pressure on it.

    Parameters
    ----------
    azimuth : float
        Direction the wall faces [degree].
    height : float
        Above the neutral level [m], below it negative. That of a house lies usually above mid-height (ASHRAE
        Handbook Fundamentals 2021, ch. 16).
    wind_factor : float
        Wind at the height of the building over wind at 10 m in the open [-]; see `exposure.Exposure`.
    shelter : float
        Factor on that wind by what stands around: 1 none (ASHRAE Handbook Fundamentals 2021, ch. 16).
    indoor_coefficient : float
        Pressure coefficient of the inside [-]: the mean of four walls, (0.6 - 2 0.65 - 0.3)/4 (assumed, even
        leaks).
    mechanical : float
        Pressure of fans, outside minus inside [Pa]: positive where air is drawn out of the house.
    """

    azimuth: float = 0.0
    height: float = 1.0
    wind_factor: float = 0.72
    shelter: float = 1.0
    indoor_coefficient: float = -0.25
    mechanical: float = 0.0

    def __post_init__(self) -> None:
        for key, low, high in (
            ("azimuth", 0.0, 360.0),
            ("height", -200.0, 200.0),
            ("wind_factor", 0.0, 3.0),
            ("shelter", 0.0, 1.0),
            ("indoor_coefficient", -2.0, 2.0),
            ("mechanical", -200.0, 200.0),
        ):
            value = getattr(self, key)
            if not low <= value <= high:
                raise InputError(f"{key} is {value:g}; it must lie between {low:g} and {high:g}", "air leak")


def leak_pressure(
    path: LeakPath,
    climate: Climate,
    marks: Times,
    indoor_temperature: Array,
    cyclic: bool | None = None,
) -> tuple[Array, dict[str, str]]:
    """Pressure difference on a leak at the hour marks of a run [Pa], outside minus inside, and notes on it.

    Parameters
    ----------
    path : LeakPath
    climate : Climate
    marks : array of datetime64, shape (n,)
    indoor_temperature : array of shape (n,)
        [K].
    cyclic : bool, optional
        As in `Climate.at_marks`.

    Notes
    -----
    s^2 (C_p - C_p,i) rho U^2/2 - z P_T + dp_fan, z upwards from the neutral level. Source: ASHRAE Handbook
    Fundamentals 2021, ch. 16. Without wind or its direction that part is left out and said.
    """
    return pressure_in_weather(path, climate.at_marks(marks, cyclic), indoor_temperature)


def pressure_in_weather(path: LeakPath, h: Hours, indoor_temperature: Array) -> tuple[Array, dict[str, str]]:
    """Return `leak_pressure` of weather at the marks that is at hand already."""
    dp = path.mechanical - path.height * stack_gradient(h.temperature, indoor_temperature)
    if h.wind_speed is None or h.wind_direction is None:
        missing = "wind" if h.wind_speed is None else "wind direction"
        return dp, {"leak": f"{missing} unavailable: stack pressure alone drives the leak"}
    net = pressure_coefficient(h.wind_direction, path.azimuth) - path.indoor_coefficient
    speed = path.shelter * path.wind_factor * h.wind_speed
    return dp + wind_pressure(speed, net, h.temperature), {"leak": "driven by stack and wind pressure"}


def leak_flow(
    leakage: Leakage,
    path: LeakPath,
    climate: Climate,
    marks: Times,
    indoor_temperature: Array,
    cyclic: bool | None = None,
) -> tuple[Array, dict[str, str]]:
    """Air through the envelope at the marks of a run [m3/(m2 s)], positive inward; see `leak_pressure`."""
    dp, notes = leak_pressure(path, climate, marks, indoor_temperature, cyclic)
    return leakage.flow(dp), notes


def screening_class(q50: float) -> str:
    """Return the class of the screening source of a q50 [m3/(m2 s)]."""
    for name, limit in Q50_OF_CLASS.items():
        if q50 * 3600.0 <= limit * (1.0 + 1e-9):
            return name
    raise InputError(
        f"q50 is {q50 * 3600.0:g} m3/(m2 h); the screening source ends at 5, use air flow through the layers",
        "air leak",
    )


def screening_deposit(
    coefficient: float,
    indoor_temperature: Any,
    indoor_vapour_pressure: Any,
    layer_temperature: Any,
    outdoor_temperature: Any,
    height: float,
    saturation_pressure: Any = moist_air.saturation_pressure_iso13788,
) -> Array:
    """Water that leaking indoor air leaves in the layer where it meets its dew point [kg/(m2 s)].

    Parameters
    ----------
    coefficient : float
        [m3/(m2 s Pa)], of `SCREENING`.
    indoor_temperature, indoor_vapour_pressure : array_like
        [K], [Pa].
    layer_temperature : array_like
        Of the layer where it condenses [K].
    outdoor_temperature : array_like
        [K].
    height : float
        Of the air space that is connected inside [m]: 5 a storey, 10 two storeys and a roof.
    saturation_pressure : callable
        [Pa] of [K].

    Notes
    -----
    S = k (c_i - c_sat(T_layer)) dP if both are positive, c = p/(R_v T), dP = (h/2) g rho_e (T_i - T_e)/T_i.
    Source: Kuenzel, Zirkelbach and Schafaczek (BEST3, 2012) (from memory). As concentrations are compared, it
    begins a few tenths of a kelvin below the dew point. A screening device: real leaks are three-dimensional
    (ASHRAE Handbook Fundamentals 2021, ch. 25).
    """
    if not height > 0.0:
        raise InputError(f"the connected height is {height:g} m; it must be greater than 0", "air leak")
    inside = np.asarray(indoor_temperature, dtype=float)
    layer = np.asarray(layer_temperature, dtype=float)
    dp = 0.5 * height * np.maximum(stack_gradient(outdoor_temperature, inside), 0.0)
    brought = np.asarray(indoor_vapour_pressure, dtype=float) / (moist_air.R_VAPOUR * inside)
    carried_on = saturation_pressure(layer) / (moist_air.R_VAPOUR * layer)
    found: Array = coefficient * np.maximum(brought - carried_on, 0.0) * dp
    return found
