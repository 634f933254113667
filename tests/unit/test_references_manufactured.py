"""Manufactured solutions, checked by themselves and against the method of lines."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.polynomial import chebyshev

ROOT = Path(__file__).resolve().parents[2] / "benchmarks" / "validation"
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from drydown_validation.references import manufactured as made  # noqa: E402
from drydown_validation.references import method_of_lines as mol  # noqa: E402
from drydown_validation.references import wall_parts  # noqa: E402

ONE = made.Manufactured()


@pytest.mark.parametrize("case", [ONE, made.CONTRAST], ids=["one layer", "contrast"])
@pytest.mark.parametrize("which", [0, 1], ids=["water", "heat"])
def test_sources_match_a_spectral_and_a_high_order_difference(case, which):
    """Measured: 1e-13 (water) and 1.4e-12 (heat) of the largest source."""
    t, step, degree = 3.3e5, 3000.0, 40
    edges = np.concatenate([[0.0], np.cumsum(case.thickness)])
    nodes = np.cos(np.pi * np.arange(degree + 1) / degree)
    for k, medium in enumerate(case.media):
        low, high = edges[k] + (1e-15 if k else 0.0), edges[k + 1]
        x = low + (high - low) * (nodes + 1) / 2
        fit = chebyshev.chebfit(nodes, case.flux(x, t)[which], degree)
        slope = chebyshev.chebval(nodes, chebyshev.chebder(fit)) * 2 / (high - low)

        def stored(t, x=x, medium=medium):
            T, phi = case.state(x, t)
            return case.stored(medium, made.State(T, phi, 0.0, 0.0))[which]

        rate = sum(
            a * (stored(t + (i + 1) * step) - stored(t - (i + 1) * step))
            for i, a in enumerate((4 / 5, -1 / 5, 4 / 105, -1 / 280))
        )
        source = case.sources(x, t)[which]
        assert np.max(np.abs(source - slope - rate / step)) < 1e-10 * np.max(np.abs(source))


def test_fields_stay_within_sense_and_both_fluxes_are_continuous():
    times = np.linspace(0, 10, 41) * 86400.0
    for case in (ONE, made.CONTRAST):
        T, phi = case.state(np.linspace(0, sum(case.thickness), 61)[:, None], times)
        assert T.min() > 275 and T.max() < 300
        assert phi.min() > 0.35 and phi.max() < 0.93
    edge = made.CONTRAST.thickness[0]
    before, after = made.CONTRAST.flux(edge, times), made.CONTRAST.flux(edge * (1 + 1e-13), times)
    for a, b in zip(before, after, strict=True):
        assert np.allclose(a, b, rtol=1e-9)
        assert np.max(np.abs(a)) > 0
    ratio = made.CONTRAST.media[1].permeability_dry / made.CONTRAST.media[0].permeability_dry
    assert ratio == pytest.approx(1000.0)


def lines(case, cells, hours=24):
    def material(m):
        return wall_parts.Material(
            m.dry_capacity,
            lambda w, T: m.conductivity(w),
            m.storage,
            lambda phi, w: m.permeability(phi),
            liquid=(lambda p, w: m.liquid_conductivity(w)) if m.liquid else None,
        )

    layers = tuple(
        wall_parts.Layer(material(m), (d / cells,) * cells) for m, d in zip(case.media, case.thickness, strict=True)
    )
    width = np.concatenate([x.widths for x in layers])
    x, marks = np.cumsum(width) - width / 2, np.arange(hours + 1) * 3600.0
    nought = 0 * marks

    def side(at):
        return wall_parts.Side(
            case.state(at, marks)[0], case.vapour_pressure(at, marks), nought, nought, nought, kind="surface"
        )

    run = mol.solve(
        wall_parts.Wall(layers),
        side(0.0),
        side(sum(case.thickness)),
        *case.state(x, 0.0),
        sources=tuple(s.T for s in case.sources(x[:, None], marks)),
        constants=mol.Constants(saturation_pressure=made.saturation_pressure),
        tolerance=mol.Tolerance("BDF", 1e-8, 1e-6, 1e-7, 1e-10),
    )
    T, phi = case.state(x, marks[-1])
    return np.array([np.sqrt(np.mean((run.temperature[-1] - T) ** 2)), np.sqrt(np.mean((run.humidity[-1] - phi) ** 2))])


@pytest.mark.parametrize(
    ("case", "which"),
    [(ONE, [0, 1]), (replace(ONE, moisture=False), [0]), (replace(ONE, heat=False), [1])],
    ids=["coupled", "heat", "moisture"],
)
def test_method_of_lines_is_of_second_order_in_space(case, which):
    """A second derivation of both: neither the sources nor the scheme knows the other."""
    errors = np.array([lines(case, n) for n in (20, 40, 80)])
    order = np.log2(errors[:-1] / errors[1:])
    assert np.min(order[:, which]) > 1.9
