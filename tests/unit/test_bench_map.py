"""The map over two membrane parameters and the sensitivity by humidity, on a small wall."""

from dataclasses import replace

import numpy as np
import pytest
from drydown import Assembly, Case, Chamber, Film, Initial, InputError, Layer, Wetting, dryout, plugins
from drydown.bench import fit, fit_figure, map_figure, membrane_map, sensitivity, sensitivity_figure
from drydown.bench.cup import CupTest
from drydown.bench.sensitivities import Raised
from drydown.materials.curves import Constant, Logistic
from drydown.trial.tries import changed, with_film

START = np.datetime64("2001-01-01T00", "s")
CURVE = Logistic(2e-11, 3e-9, 0.65, 0.07)
MEMBRANE = Film("demo membrane", CURVE, aliases=("the sheet",))


def wall(membrane: Film = MEMBRANE, days: int = 200) -> Case:
    """Wet wood fibreboard that dries through a membrane inward, a paint outward; constant air on both sides."""
    parts = (
        Film("demo paint", lambda phi: 1e-10 + 0.0 * phi),
        Layer(plugins.material("wood fibreboard"), 0.012, "board"),
        membrane,
        Layer(plugins.material("gypsum board"), 0.0125, "lining"),
    )
    return Case(
        Assembly(parts),
        Chamber(278.15, 0.85),
        Chamber(294.15, 0.40),
        START,
        START + np.timedelta64(days, "D"),
        (Wetting("board", 0.4, START + np.timedelta64(6, "h"), 3600.0),),
        Initial(285.15, 0.6),
        name="small wall",
    )


AXES = {"closed": (2e-12, 2e-11, 2e-10), "open": (3e-10, 3e-9)}


@pytest.fixture(scope="module")
def found():
    return membrane_map(wall(), "demo membrane", AXES)


@pytest.fixture(scope="module")
def sensitive():
    return sensitivity(wall(), "demo membrane", (0.4, 0.55, 0.7, 0.85))


def test_each_field_is_the_trial_of_its_own_membrane(found):
    assert found["days_to_90_percent_dry"].dims == ("closed", "open") and found.sizes == {"closed": 3, "open": 2}
    own = dryout(wall(Film("demo membrane", Logistic(2e-11, 3e-10, 0.65, 0.07)))).attrs
    for key in ("days_to_90_percent_dry", "share_inward", "remaining"):
        assert float(found[key][1, 0]) == pytest.approx(float(own[key]), rel=1e-12)
    assert float(found["closure_max"].max()) < 1e-9
    assert found["closed"].attrs["units"] == "kg m-2 s-1 Pa-1"
    assert found.attrs["film"] == "demo membrane" and "middle=0.65" in found.attrs["curve"]


def test_more_permeance_inward_lets_more_out_inward(found):
    share, days = found["share_inward"].values, found["days_to_90_percent_dry"].values
    assert np.all(np.diff(share, axis=0) > 0.0) and np.all(np.diff(share, axis=1) > 0.0)
    assert np.all(np.diff(days, axis=0) < 0.0) and np.all(np.diff(days, axis=1) < 0.0)
    assert days.max() / days.min() > 1.2


def test_threads_change_nothing(found):
    seen = []
    again = membrane_map(wall(), "the sheet", AXES, workers=1, progress=seen.append)
    assert again.identical(found)
    assert seen == pytest.approx(np.arange(1, 7) / 6.0)


def test_switching_humidity_of_another_curve():
    paper = Film("demo paper", Constant(1e-10))
    axes = {"middle": (0.5, 0.8), "width": (0.02, 0.1)}
    got = membrane_map(wall(paper, days=4), "demo paper", axes, curve=CURVE)
    assert float(got["share_inward"][0, 0]) > float(got["share_inward"][1, 0])
    assert got["middle"].attrs["units"] == "1"


def test_not_reached_is_nan_and_drawn():
    got = membrane_map(wall(days=2), "demo membrane", {"closed": (1e-12, 1e-11), "open": (1e-10, 2e-10)})
    assert np.all(np.isnan(got["days_to_90_percent_dry"])) and np.all(got["remaining"] > 0.1)
    texts = [t.get_text() for axes in map_figure(got).axes for t in axes.texts]
    assert texts.count("not\nreached") == 4


@pytest.mark.parametrize(
    ("film", "axes", "options", "words"),
    [
        ("demo membrain", AXES, {}, "did you mean 'demo membrane'"),
        ("demo paint", AXES, {}, "no parameters to vary"),
        ("demo membrane", {"closed": (1e-11,)}, {}, "give two"),
        ("demo membrane", {"closd": (1e-11,), "open": (1e-9,)}, {}, "did you mean 'closed'"),
        ("demo membrane", {"closed": (), "open": (1e-9,)}, {}, "no value"),
        ("demo membrane", {"closed": (-1.0,), "open": (1e-9,)}, {}, "greater than 0"),
        ("demo membrane", AXES, {"workers": 0}, "at least 1"),
    ],
)
def test_maps_that_cannot_be_made(film, axes, options, words):
    with pytest.raises(InputError, match=words):
        membrane_map(wall(), film, axes, **options)


def test_a_map_without_a_wetting():
    with pytest.raises(InputError, match="needs a wetting"):
        membrane_map(replace(wall(), wettings=()), "demo membrane", AXES)


def test_the_bumps_add_up_to_an_even_rise():
    phi = np.linspace(0.0, 1.0, 1001)
    points = (0.2, 0.3, 0.5, 0.9)
    bumps = [Raised(CURVE, points, k, 1.0).weight(phi) for k in range(4)]
    assert np.sum(bumps, axis=0) == pytest.approx(np.ones(1001), abs=1e-12)
    assert bumps[1][phi == 0.3] == 1.0 and np.all(bumps[1][(phi <= 0.2) | (phi >= 0.5)] < 1e-12)
    assert Raised(CURVE, points, -1, 0.3)(phi) == pytest.approx(CURVE(phi) * np.exp(0.3), rel=1e-12)


def test_sensitivities_add_up_to_that_of_an_even_rise(sensitive):
    for key in ("days_to_90_percent_dry", "share_inward", "share_inward_change"):
        total, even = float(sensitive[key].sum()), sensitive.attrs[f"even_{key}"]
        assert total == pytest.approx(even, rel=0.02) and abs(even) > 0.01
    assert sensitive.attrs["closure_max"] < 1e-9


def test_sensitivity_is_the_derivative_of_the_trial(sensitive):
    """Twice as small a rise gives the same slope; a membrane raised by 2 % moves the days as it says."""
    half = sensitivity(wall(), "demo membrane", (0.4, 0.55, 0.7, 0.85), by=0.1)
    for key in ("days_to_90_percent_dry", "share_inward"):
        assert half[key].values == pytest.approx(sensitive[key].values, rel=0.02, abs=1e-4)
    new = changed(MEMBRANE, lambda curve: Raised(curve, (0.4, 0.55, 0.7, 0.85), 2, 0.02))
    raised = with_film(wall(), MEMBRANE, new)
    before, after = (float(dryout(c).attrs["days_to_90_percent_dry"]) for c in (wall(), raised))
    slope = np.log(after / before) / 0.02
    assert slope == pytest.approx(float(sensitive["days_to_90_percent_dry"][2]), rel=0.03)


def test_a_membrane_matters_where_it_is_humid(sensitive):
    """Outside 85 %, in the room 40 %: the membrane stands between; what it lets through at both ends counts least."""
    days = sensitive["days_to_90_percent_dry"].values
    assert np.all(days < 0.0) and max(abs(days[0]), abs(days[3])) < np.abs(days[1:3]).min() / 2.0


@pytest.mark.parametrize(
    ("film", "points", "options", "words"),
    [
        ("demo", (0.1, 0.9), {}, "no film of the wall"),
        ("demo membrane", (0.9, 0.1), {}, "rise within 0 to 1"),
        ("demo membrane", (0.5,), {}, "two or more"),
        ("demo membrane", (0.1, 0.9), {"by": 0.0}, "between 0 and 1"),
    ],
)
def test_sensitivities_that_cannot_be_found(film, points, options, words):
    with pytest.raises(InputError, match=words):
        sensitivity(wall(), film, points, **options)


TWO_WAYS = replace(MEMBRANE, permeance_outward=Logistic(2e-12, 1e-9, 0.75, 0.05))


def test_sensitivity_of_a_film_with_two_directions():
    """The wet board dries inward, so that curve matters.

    The other counts a little, for vapour that goes outward in the twin without water; both together is their sum.
    """
    at = (0.4, 0.7)
    both, inward, outward = (
        sensitivity(wall(TWO_WAYS), "demo membrane", at, direction=d) for d in ("both", "inward", "outward")
    )
    for key in ("days_to_90_percent_dry", "share_inward_change"):
        parts = inward[key].values + outward[key].values
        assert both[key].values == pytest.approx(parts, rel=0.02, abs=1e-3)
    most = [float(np.abs(found["days_to_90_percent_dry"]).max()) for found in (inward, outward)]
    assert most[0] > 10.0 * most[1] > 0.0
    assert both["permeance_outward"].values == pytest.approx(TWO_WAYS.permeance_outward(np.array(at)))
    assert "permeance_outward" not in sensitivity(wall(days=2), "demo membrane", at, workers=1)


def test_directions_of_a_change():
    def same(curve):
        return Constant(1e-12)

    assert changed(MEMBRANE, same).permeance_outward is None
    assert changed(TWO_WAYS, same).permeance_outward == Constant(1e-12) == changed(TWO_WAYS, same).permeance
    one = changed(MEMBRANE, same, "inward")
    assert (one.permeance, one.permeance_outward) == (Constant(1e-12), CURVE)
    other = changed(TWO_WAYS, same, "outward")
    assert (other.permeance, other.permeance_outward) == (CURVE, Constant(1e-12))
    with pytest.raises(InputError, match="'both', 'inward' or 'outward'"):
        changed(MEMBRANE, same, "up")


def test_a_map_of_one_direction_leaves_the_other():
    axes = {"closed": (1e-11,), "open": (3e-9,)}
    got = {
        d: membrane_map(wall(TWO_WAYS), "demo membrane", axes, curve=CURVE, direction=d) for d in ("both", "outward")
    }
    curve = replace(CURVE, closed=1e-11)
    for d, film in (
        ("both", replace(MEMBRANE, permeance=curve)),
        ("outward", replace(MEMBRANE, permeance_outward=curve)),
    ):
        own = dryout(wall(film)).attrs["days_to_90_percent_dry"]
        assert float(got[d]["days_to_90_percent_dry"][0, 0]) == pytest.approx(float(own), rel=1e-12)
        assert got[d].attrs["direction"] == d


def test_figures(found, sensitive):
    """What stands in the figures is what is in the results."""
    figure = map_figure(found)
    texts = [t.get_text() for axes in figure.axes for t in axes.texts]
    assert f"{float(found['days_to_90_percent_dry'][0, 0]):.0f}" in texts and len(texts) == 12
    assert figure.axes[0].get_ylabel() == "permeance when closed\n[ng/(Pa s m²)]"
    bars = sensitivity_figure(sensitive).axes[0].patches
    heights = [b.get_height() for b in bars]
    assert heights == pytest.approx(100.0 * np.log(1.1) * sensitive["days_to_90_percent_dry"].values)
    tests = [
        CupTest(a, b, permeance=p, uncertainty=0.05) for a, b, p in ((0.0, 0.5, 5e-12), (0.3, 0.6, 1e-11),
        (0.5, 0.8, 4e-10), (0.6, 0.9, 9e-10), (0.5, 1.0, 1e-9))
    ]  # fmt: skip
    above, _, right = fit_figure(fit(tests, draws=50), "valley membrane").axes
    ratio = np.array(above.get_ylim()) / np.array(right.get_ylim())
    assert ratio == pytest.approx([57.2135, 57.2135])  # ng/(Pa s m2) over perm
