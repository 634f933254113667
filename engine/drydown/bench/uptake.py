"""The virtual uptake test: one face of a specimen stands in water, and the engine says how fast it drinks."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..arrays import Array
from ..case.assembly import Assembly, Layer
from ..case.case import Case, Initial
from ..case.sides import Chamber
from ..errors import InputError
from ..lowering.problem import lower
from ..materials.model import REFERENCE_TEMPERATURE, Material
from ..run.simulation import chunks

#: Weighings [s from the start]: three seconds to three hundred years, each a sixth later than the one before.
WEIGHINGS = np.concatenate([[0.0], np.geomspace(3.0, 1e10, 142)])
#: The far half of the specimen may hold this share of the water taken up before the test counts as over.
ARRIVED = 0.01
#: Cells of a layer that states none: the front is steep.
CELLS = 80
_START = np.datetime64("2001-01-01T00", "s")
_NO_VAPOUR = 1e-16  # kg/(m s Pa)


@dataclass(frozen=True)
class UptakeResult:
    """What a virtual uptake test gives.

    Parameters
    ----------
    absorption : float
        Water absorption coefficient: slope of the water taken up over the root of time [kg/(m2 s^0.5)].
    bend : float
        Greatest deviation of the weighings from that straight line, over the water taken up at the end [-].
    time, water : ndarray
        Weighings used [s] and water taken up [kg/m2].
    """

    absorption: float
    bend: float
    time: Array
    water: Array


def virtual_uptake(
    specimen: Layer, *, start: float = 0.5, temperature: float = REFERENCE_TEMPERATURE, vapour: bool = True
) -> UptakeResult:
    """Stand a specimen in water and weigh it.

    Parameters
    ----------
    specimen : Layer
        Its thickness is the height above the water; the far face is sealed.
    start : float
        Humidity [-] at which the specimen was kept before.
    temperature : float
        [K].
    vapour : bool
        False: leave out what goes in as vapour, ahead of the liquid.

    Returns
    -------
    UptakeResult

    Raises
    ------
    InputError
        If the specimen cannot be used.
    SimulationError
        If a step cannot be solved.

    Notes
    -----
    The procedure of ISO 15148 (from memory): a specimen from a laboratory at 23 degC and 50 %, one face in water, its
    weight against the root of time. A straight line is fitted to the weighings until the far half has received a
    hundredth of the water, the first ninth of that time left out.
    """
    if not isinstance(specimen, Layer):
        raise InputError(f"a Layer is needed, not {type(specimen).__name__}", "virtual uptake")
    part = specimen if specimen.cells else replace(specimen, cells=CELLS)
    if not vapour:
        part = replace(part, material=_without_vapour(part.material))
    case = Case(
        Assembly((part,), "uptake test"),
        Chamber(temperature, 1.0, surface=True),
        Chamber(temperature, start, sealed=True),
        _START,
        _START + np.timedelta64(1, "h"),
        initial=Initial(temperature, start),
        name="uptake test",
    )
    p = lower(case, times=WEIGHINGS, control={"max_step": float(WEIGHINGS[-1]), "min_step": 1e-4, "newton": 1e-4})
    far = p.grid.x > 0.5 * specimen.thickness
    taken, arrived = [], []
    for _, record in chunks(p):
        taken.append(record.flow[:, 0, :2].sum(axis=1))
        arrived.append(record.water[:, far].sum(axis=1))
    return _read(np.concatenate(taken), np.concatenate(arrived), specimen.name)


def _without_vapour(material: Material) -> Material:
    return replace(material, permeability=lambda x: _NO_VAPOUR + 0.0 * x)


def _read(water: Array, far: Array, name: str) -> UptakeResult:
    over = np.flatnonzero(far - far[0] > ARRIVED * np.maximum(water, 1e-12))
    last = int(over[0]) if len(over) else len(water)
    used = (WEIGHINGS[last - 1] / 9.0 <= WEIGHINGS) & (np.arange(len(water)) < last)
    if used.sum() < 6:
        raise InputError("water is through before it can be weighed; give a thicker layer", f"layer '{name}'")
    root = np.sqrt(WEIGHINGS[used])
    slope, offset = np.polyfit(root, water[used], 1)
    bend = float(np.max(np.abs(slope * root + offset - water[used])) / water[used][-1])
    return UptakeResult(float(slope), bend, WEIGHINGS[used], water[used])
