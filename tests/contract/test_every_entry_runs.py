"""Every registered material and film runs in the engine: condensing, soaked, with its budget closed."""

import numpy as np
import pytest
from drydown import Assembly, Case, Chamber, Initial, Layer, Material, Wetting, simulate
from drydown.materials.curves import by_humidity
from drydown.plugins import materials

START = np.datetime64("2001-01-01T00", "s")
HOUR = np.timedelta64(1, "h")


@pytest.fixture(scope="module")
def entries():
    return materials().entries()


def run(entry, entries, wet):
    if isinstance(entry, Material):
        free = entry.saturation - float(by_humidity(entry.storage)(0.6))
        parts, room = (Layer(entry, 0.02, "wetted"),), 0.02 * free
    else:
        board, wool = entries["gypsum board"], entries["mineral wool"]
        parts, room = (Layer(board, 0.0125, "wetted"), entry, Layer(wool, 0.05)), 0.0125 * board.saturation
    events = (Wetting("wetted", 0.7 * room, START + 24 * HOUR, 6 * 3600.0),) if wet else ()
    cold, warm = Chamber(268.15, 0.9), Chamber(294.15, 0.6)
    case = Case(Assembly(parts), cold, warm, START, START + 120 * HOUR, events, Initial(283.15, 0.6))
    return simulate(case)


@pytest.mark.parametrize("wet", [False, True], ids=["condensing", "soaked"])
def test_every_entry_runs_in_the_engine(entries, wet):
    failed = []
    for name, entry in entries.items():
        if wet and "air" in entry.tags:
            continue  # closed air holds no water: refused (tests/unit/test_case_refused.py)
        try:
            result = run(entry, entries, wet)
        except Exception as error:
            failed.append(f"{name}: {type(error).__name__}: {error}")
            continue
        if not result.attrs["water_closure_step_max"] < 1e-9:
            failed.append(f"{name}: a step leaves {result.attrs['water_closure_step_max']:.1e} kg/m2")
    assert not failed, "\n".join(failed)
