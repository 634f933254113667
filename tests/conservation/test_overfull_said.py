"""Condensate that finds no room in the pores: kept in the balance, and said how much and where."""

import numpy as np
import pytest
from drydown import Assembly, Case, Chamber, Film, Initial, Layer, simulate
from drydown.plugins import material

START = np.datetime64("2001-01-01T00", "s")


def run(indoor: float, kind="mineral wool", **where):
    """Run a warm room under a roof in the cold for a month; the tight film holds what condenses."""
    tight = Film("demo membrane", lambda phi: 1e-13 + 0.0 * phi)
    case = Case(
        Assembly((tight, Layer(material(kind), 0.06, "wool"))),
        Chamber(263.15, 0.8),
        Chamber(295.15, indoor),
        START,
        START + np.timedelta64(30, "D"),
        initial=Initial(280.0, 0.5),
    )
    return simulate(case, **where)


def test_it_is_said_how_much_and_where(tmp_path):
    data = run(0.9)
    held, full, width = (data[name].values for name in ("water_content", "saturation", "width"))
    most = (held - full).max(axis=0)
    cell = int(most.argmax())
    a = data.attrs
    print({k: v for k, v in a.items() if "overfull" in k}, a["warning"])
    assert most[cell] > 5.0 and a["overfull_cell_steps"] > 0
    assert a["overfull_most"] == pytest.approx(most[cell], rel=1e-9)
    assert a["overfull_surplus"] == pytest.approx((np.maximum(held - full, 0.0) * width).sum(axis=1).max(), rel=1e-9)
    day = str(data["time"].values[int(held[:, cell].argmax())])[:10]
    assert a["overfull_where"] == f"in 'wool', {1e3 * float(data['x'][cell]):.1f} mm from outside, on {day}"
    assert a["overfull_where"] in a["warning"] and f"up to {held.max():.0f} kg/m3" in a["warning"]
    streamed = run(0.9, path=tmp_path / "run.nc")
    assert streamed.attrs["overfull_where"] == a["overfull_where"]


def test_in_a_gap_it_is_dew():
    told = run(0.9, "air gap 50 mm").attrs["warning"]
    assert told.startswith("dew stood in 'wool'") and "drip off" in told and "kg/m3" not in told


def test_nothing_is_said_where_all_fits():
    assert "overfull_where" not in run(0.05).attrs
