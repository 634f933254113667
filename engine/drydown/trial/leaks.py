"""What leaking air can leave in a wall by each of the two leak models, from the airs on both sides alone."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..case.air_leak import AirLeak
from ..case.air_leakage import (
    OF_WALLS,
    Q50_OF_CLASS,
    SCREENING,
    WALL_AREA,
    pressure_in_weather,
    screening_class,
    stack_gradient,
)
from ..case.case import Case
from ..errors import InputError

YEAR = 365.25 * 86400.0


class LeakBounds(NamedTuple):
    """What a leak can leave, at most, in a surface as cold as the air outside [kg/(m2 a)].

    screening : by the screening model; None where the house is too leaky for it; flow : by an even flow through the
    layers, with the least, the mean and the greatest share of the leakage that walls have, or by all of a described
    joint; portion : of the leakage a square metre, in a run by an even flow; up_to : q50 up to which the class of the
    screening model holds [m3/(m2 h)].
    """

    label: str
    way: str
    screening: float | None
    flow: tuple[float, float, float]
    portion: float = 1.0
    of_joint: bool = False
    up_to: float = float("nan")


def leak_bounds(case: Case) -> list[LeakBounds]:
    """Return the bounds of every leak of a case.

    Parameters
    ----------
    case : Case

    Notes
    -----
    Both count indoor air on its way out, c_i - c_sat(T_e) where that is above 0, c = p/(R_v T). Screening: the source
    of `drydown.case.air_leakage.screening_deposit`. Flow: the power law under stack and wind, times the walls' share
    of the leakage over their share of the envelope.
    """
    leaks = [load for load in case.loads if isinstance(load, AirLeak)]
    if not leaks:
        return []
    marks, physics = case.marks, case.physics
    inside = case.inside.forcing(marks, physics, case.outside)
    outdoor, _ = case.outside.air(marks, physics)
    weather = case.outside.weather(marks)
    gas = physics.vapour_gas_constant
    surplus = inside.vapour_pressure / (gas * inside.temperature) - physics.saturation_pressure(outdoor) / (
        gas * outdoor
    )
    surplus = np.maximum(surplus, 0.0)
    stack = np.maximum(stack_gradient(outdoor, inside.temperature), 0.0)
    found = []
    for leak in leaks:
        try:
            class_ = screening_class(float(leak.leakage.flow(50.0)))
            k, up_to = SCREENING[class_], Q50_OF_CLASS[class_]
            screening = YEAR * float(np.mean(k * 0.5 * leak.connected_height * stack * surplus))
        except InputError:
            screening, up_to = None, float("nan")
        if weather is None:
            dp = leak.path.mechanical - leak.path.height * stack_gradient(outdoor, inside.temperature)
        else:
            dp, _ = pressure_in_weather(leak.path, weather, inside.temperature)
        even = YEAR * float(np.mean(np.maximum(-leak.leakage.flow(dp), 0.0) * surplus))
        low, mean, high = (even * (1.0 if leak.of_joint else share / WALL_AREA) for share in OF_WALLS)
        found.append(LeakBounds(leak.label, leak.way, screening, (low, mean, high), leak.portion, leak.of_joint, up_to))
    return found
