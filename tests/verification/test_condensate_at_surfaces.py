"""What condenses at a surface: under a film it stays, on a sheet without pores it runs off."""

from __future__ import annotations

import numpy as np
import pytest
from drydown import Assembly, Case, Chamber, Film, Initial, Layer, simulate
from drydown.moist_air import saturation_pressure_iso13788
from drydown.plugins import material

START = np.datetime64("2001-01-01T00", "s")
PERMEANCE = 1.0e-12


@pytest.mark.parametrize("name", ["expanded polystyrene 30", "spruce", "mineral wool"])
def test_what_condenses_under_a_tight_film_does_not_pass_it(name):
    """A warm damp room under a roof in the cold: no more leaves than saturated air drives through the membrane."""
    membrane = Film("demo membrane", lambda phi: PERMEANCE + 0.0 * phi)
    case = Case(
        Assembly((membrane, Layer(material(name), 0.06))),
        Chamber(263.15, 0.8),
        Chamber(295.15, 0.75),
        START,
        START + np.timedelta64(15, "D"),
        initial=Initial(280.0, 0.8),
    )
    data = simulate(case)
    passed = (data["vapour_passed"] + data["liquid_passed"]).values[:, 0]
    cell = data["temperature"].values[:, 0]
    most = PERMEANCE * 3600.0 * np.sum(saturation_pressure_iso13788(np.maximum(cell[1:], cell[:-1])))
    stored = (data["water_content"].values * data["width"].values).sum(axis=1)
    came = passed[0] - passed[-1], -(data["vapour_passed"] + data["liquid_passed"]).values[-1, -1]
    print(f"{name}: out {came[0]:.2e} kg/m2, at most {most:.2e}; in {came[1]:.3f}, stored {stored[-1] - stored[0]:.3f}")
    assert came[1] > 100.0 * most  # far more arrives than the membrane passes
    assert 0.0 < came[0] < most
    assert stored[-1] - stored[0] == pytest.approx(came[1] - came[0], rel=1e-6)


def test_dew_is_not_pressed_into_a_sheet_of_glass():
    """Air of 20 degC and 90 % over a pane at 10 degC: the pane takes in what a saturated face gives, the rest runs off.

    The steady profile between a face at saturation and the far face, which is sealed, is saturation itself.
    """
    case = Case(
        Assembly((Layer(material("glass pane"), 0.004),)),
        Chamber(293.15, 0.9, heat_transfer=1e-3),
        Chamber(283.15, 0.5, sealed=True, heat_transfer=25.0),
        START,
        START + np.timedelta64(5, "D"),
        initial=Initial(283.15, 0.9),
    )
    data = simulate(case)
    held = data["water_content"].values
    print(f"most held {held.max():.4f} kg/m3")
    assert data["relative_humidity"].values[-1, 0] == pytest.approx(1.0, abs=1e-3)
    assert held.max() < 1.0  # no more than its pores
