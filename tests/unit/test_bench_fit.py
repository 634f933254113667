"""Curves from cup tests: synthetic tests of a known membrane, made by a reference of its own."""

import warnings

import numpy as np
import pytest
from drydown import Film, InputError, Source
from drydown.bench import FAMILIES, CupTest, Fit, directions_figure, fit, fit_directions, read_cup_tests, virtual_cup
from drydown.bench.model import POINTS, Cups, measured
from drydown.materials.curves import Constant, Exponential, Logistic, TwoLevel
from drydown.testing import check_film
from drydown_validation.references import kirchhoff_film as reference
from drydown_validation.references.kirchhoff_film import Cup

AIR_AT_23 = 2.0e-7 * 296.15**0.81 / 101325.0  # DIN 52615 [kg/(m s Pa)]
NG = 1e-12
#: Humidities of eight cups, as saturated salts give them (11, 33, 53, 75, 85, 93 %), with desiccant and water.
RANGES = ((0.0, 0.5), (0.5, 1.0), (0.11, 0.33), (0.33, 0.53), (0.53, 0.75), (0.75, 0.93), (0.5, 0.85), (0.0, 0.85))
EVERY = np.linspace(0.0, 1.0, 101)
AIR = {"air_layer": 0.015, "surface_resistance": 2.0e7}


def logistic(phi):
    """5 to 2000 ng/(Pa s m2), half way (in the logarithm) at 65 %."""
    x = (np.asarray(phi, dtype=float) - 0.65) / 0.07
    return 5.0 * NG * 400.0 ** (1.0 / (1.0 + np.exp(-x)))


def cups(permeance=logistic, noise=None, ranges=RANGES, uncertainty=0.05, **air) -> list[CupTest]:
    """Return tests as a laboratory would report them, air included."""
    out = []
    for i, (low, high) in enumerate(ranges):
        a, b = min(high, 1.0 - 1e-8), max(low, 1e-4)
        cup = Cup(a, b, 296.15, air.get("air_layer", 0.0) / AIR_AT_23, air.get("surface_resistance", 0.0))
        value = reference.apparent_permeance(permeance, cup)
        value *= 1.0 if noise is None else float(np.exp(uncertainty * noise[i]))
        out.append(CupTest(high, low, permeance=value, uncertainty=uncertainty, **air))
    return out


def quiet(*args, **kwargs):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return fit(*args, **kwargs)


@pytest.mark.parametrize("air", [{}, AIR], ids=["no air", "air on both sides"])
def test_the_model_of_a_cup_is_the_integral(air):
    tests = cups(**air)
    got = measured(np.log(logistic(POINTS))[None, :], Cups.of(tests))[0]
    assert got == pytest.approx([t.permeance for t in tests], rel=1e-6)


@pytest.mark.parametrize("air", [{}, AIR], ids=["no air", "air on both sides"])
def test_noiseless_tests_give_the_curve_back(air):
    found = fit(cups(**air), draws=20)
    assert found.curve(EVERY) == pytest.approx(logistic(EVERY), rel=0.01)
    want = {"closed": 5.0 * NG, "open": 2000.0 * NG, "middle": 0.65, "width": 0.07}
    assert found.parameters == pytest.approx(want, rel=0.01)
    assert np.max(np.abs(found.residuals)) < 0.05 and found.warnings == ()


@pytest.mark.parametrize(
    ("family", "truth"),
    [
        ("two-level", TwoLevel(10 * NG, 900 * NG, 0.5, 0.85)),
        ("exponential", Exponential(20 * NG, 0.4 * NG, 7.0)),
        ("logistic", Logistic(800 * NG, 90 * NG, 0.5, 0.1)),
    ],
)
def test_other_families_give_their_own_curve_back(family, truth):
    found = quiet(cups(truth), family, draws=20)
    assert found.curve(EVERY) == pytest.approx(truth(EVERY), rel=0.01)
    assert type(found.curve) is type(truth)


def test_spline_without_noise_from_many_narrow_cups():
    """Forty narrow cups with 1 % each: the spline follows the logistic curve to 5 % without knowing of it."""
    ranges = [(x, x + 0.05) for x in np.linspace(0.0, 0.95, 40)]
    found = quiet(cups(ranges=ranges, uncertainty=0.01), "spline", draws=20)
    assert found.curve(EVERY) == pytest.approx(logistic(EVERY), rel=0.05)
    assert np.all(np.diff(found.curve(EVERY)) > 0.0)


def test_not_by_the_mean_humidity():
    """A curve through the points (mean humidity, permeance) would miss the truth by more than a factor of two."""
    tests = cups()
    middle = np.array([0.5 * (t.cup + t.room) for t in tests])
    naive = np.array([t.permeance for t in tests]) / logistic(middle)
    assert max(naive.max(), 1.0 / naive.min()) > 2.0
    assert quiet(tests, draws=20).curve(middle) == pytest.approx(logistic(middle), rel=0.01)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("method", "air"), [("bootstrap", {}), ("laplace", AIR)], ids=["bootstrap", "laplace, with air"]
)
def test_the_band_holds_the_true_curve(method, air):
    """The band holds the whole true curve.

    100 seeded repeats with 5 % noise: the WHOLE true curve, at every per cent of the humidities tested, lies in the
    simultaneous 95 % band in at least 90 of them. Its width at 20 and 90 % is bounded too, so that the band
    cannot pass by being wide: 5 % in each of eight cups fixes the ends to better than a factor of 1.5.
    """
    inside, width = 0, []
    for seed in range(100):
        noise = np.random.default_rng(seed).standard_normal(len(RANGES))
        found = quiet(cups(noise=noise, **air), method=method, draws=200 if method == "bootstrap" else 2000)
        assert found.covered == (0.0, 1.0)
        low, high = found.band(EVERY)
        inside += bool(np.all((logistic(EVERY) >= low) & (logistic(EVERY) <= high)))
        width.append((high / low)[[20, 90]])
    print(f"{method}: {inside} of 100 inside; band {np.median(width, axis=0)} times wide at 20 and 90 %")
    assert inside >= 90
    assert np.all(np.median(width, axis=0) < 1.5)


def test_pointwise_band_is_narrower_and_a_lower_level_too():
    found = quiet(cups(noise=np.random.default_rng(5).standard_normal(8)))
    low, high = found.band(EVERY)
    for other in (found.band(EVERY, kind="pointwise"), found.band(EVERY, level=0.6)):
        assert np.mean(other[1] / other[0]) < np.mean(high / low)
    assert np.all(low < found.curve(EVERY)) and np.all(found.curve(EVERY) < high)


def test_both_methods_agree_where_the_tests_fix_all():
    tests = cups(uncertainty=0.02)
    widths = [np.log(np.divide(*fit(tests, method=m).band(EVERY)[::-1])) for m in ("bootstrap", "laplace")]
    assert widths[0] == pytest.approx(widths[1], rel=0.25)


def test_same_seed_same_band():
    tests = cups()
    bands = [fit(tests, draws=50, seed=s).band(EVERY)[0] for s in (3, 3, 4)]
    assert np.array_equal(bands[0], bands[1]) and not np.array_equal(bands[0], bands[2])


def test_a_dry_and_a_wet_cup_fix_no_shape():
    """The pair is flagged, and the band says so: somewhere between both it is more than 30 times wide."""
    pair = cups(ranges=((0.0, 0.5), (0.5, 1.0)))
    with pytest.warns(UserWarning, match="no shape"):
        found = fit(pair)
    assert any("dry cup and a wet cup" in text for text in found.warnings)
    low, high = found.band(np.array([0.5, 0.6, 0.7]))
    assert np.max(high / low) > 30.0
    assert np.abs(found.residuals).max() < 0.1
    assert quiet([*pair, *pair]).warnings == found.warnings  # repeats are no new range


@pytest.mark.parametrize(
    ("tests", "options", "words"),
    [
        (cups(ranges=RANGES[:3]), {}, "3 ranges of humidity for the 4 parameters"),
        (cups(ranges=RANGES[2:6]), {}, "no test covers 0 to 11 % and 93 to 100 %"),
        (cups(ranges=RANGES[2:6]), {"family": "spline"}, "its smoothness decides"),
        (cups(ranges=RANGES[:1] + RANGES[2:4] + ((0.45, 0.6), (0.4, 0.55))), {}, "little about 'open'"),
        (cups(Exponential(5 * NG, 1 * NG, 6.0)), {"family": "two-level"}, "scatter"),
        ([*cups(), CupTest(0.9, 0.5, 311.15, 1e-9, 0.05)], {}, "15 K away from 23 degC"),
        ([*cups(), CupTest(0.93, 0.5, permeance=6e-10, uncertainty=0.3, turned=True)], {}, "direction of flow"),
    ],
)
def test_doubts(tests, options, words):
    assert words in " | ".join(quiet(tests, draws=20, **options).warnings)


def test_good_tests_raise_no_doubt():
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        fit(cups(noise=np.random.default_rng(0).standard_normal(8)), draws=20)


def test_a_value_already_corrected():
    """Laboratory A reports with the air, laboratory B took it off: both lead to the same curve."""
    raw = cups(**AIR)
    air = AIR["air_layer"] / AIR_AT_23 + AIR["surface_resistance"]
    less = [
        CupTest(t.cup, t.room, permeance=1.0 / (1.0 / t.permeance - air), uncertainty=0.05, corrected=True, **AIR)
        for t in raw
    ]
    a, b = (fit(t, draws=20).curve(EVERY) for t in (raw, less))
    # the same relative uncertainty weighs a little differently after the correction
    assert a == pytest.approx(b, rel=5e-3)


def test_a_temperature_factor_brings_tests_together():
    def factor(t):
        return np.exp(0.03 * (np.asarray(t) - 296.15))

    tests = cups()
    tests[::2] = [
        CupTest(t.cup, t.room, 311.15, t.permeance * float(factor(311.15)), t.uncertainty) for t in tests[::2]
    ]
    found = fit(tests, draws=20, temperature_factor=factor)
    assert found.curve(EVERY) == pytest.approx(logistic(EVERY), rel=0.01)


@pytest.mark.parametrize("family", FAMILIES)
def test_the_curve_is_the_permeance_of_a_film(family):
    found = quiet(cups(noise=np.random.default_rng(2).standard_normal(8)), family, draws=20)
    film = found.film("valley membrane", thickness=3e-4)
    assert isinstance(film, Film) and isinstance(film.sources[0], Source) and film.thickness == 3e-4
    check_film(film)
    working = FAMILIES[family].log(found.working[None, :], EVERY)[0]
    assert film.permeance(EVERY) == pytest.approx(np.exp(working), rel=1e-9)


INWARD, OUTWARD = Logistic(5 * NG, 900 * NG, 0.72, 0.06), Logistic(5 * NG, 2000 * NG, 0.62, 0.06)
DIRECTIONAL = Film("demo laminate", INWARD, OUTWARD)


def both_ways(film=DIRECTIONAL, noise=0.0, seed=0):
    """Tests of each range with either face in the cup, as the engine's own cup measures them."""
    rng = np.random.default_rng(seed)
    out = []
    for low, high in RANGES[1:7]:
        for turned in (False, True):
            test = CupTest(high, low, turned=turned)
            value = virtual_cup(film, test).apparent * float(np.exp(noise * rng.standard_normal()))
            out.append(CupTest(high, low, permeance=value, uncertainty=0.05, turned=turned))
    return out


def test_each_direction_gets_its_own_curve_back():
    """The wet side in the cup, the outer face to the room: flow outward, the curve `permeance_outward` of the film."""
    found = fit_directions(both_ways(), draws=20)
    film = found.film("demo laminate")
    covered = np.linspace(0.11, 1.0, 90)
    assert film.permeance(covered) == pytest.approx(INWARD(covered), rel=0.01)
    assert film.permeance_outward(covered) == pytest.approx(OUTWARD(covered), rel=0.01)
    assert isinstance(found.inward, Fit) and all(t.turned for t in found.inward.tests)
    assert film.humidity_range == (0.11, 1.0) and found.chance < 1e-6
    check_film(film)


def test_directions_that_are_alike_are_said_to_be():
    with pytest.warns(UserWarning, match="do not tell the directions apart"):
        found = fit_directions(both_ways(Film("plain", INWARD), noise=0.05, seed=3), draws=20)
    assert found.chance > 0.05


def test_the_chance_is_one_in_twenty_where_there_are_no_sides():
    """Forty series of a plain film with 5 % noise: about two fall below 5 %, not more than six."""
    plain = both_ways(Film("plain", INWARD))
    below = 0
    for seed in range(40):
        noise = np.exp(0.05 * np.random.default_rng(seed).standard_normal(len(plain)))
        tests = [
            CupTest(t.cup, t.room, permeance=t.permeance * e, uncertainty=0.05, turned=t.turned)
            for t, e in zip(plain, noise, strict=True)
        ]
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            below += fit_directions(tests, method="laplace", draws=2).chance < 0.05
    assert below <= 6


def test_a_direction_without_tests():
    with pytest.raises(InputError, match="0 of the 8 tests have flow inward; at least 2"):
        fit_directions(cups())


def test_figure_of_both_directions():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = fit_directions(both_ways(noise=0.05), draws=50)
    axes = directions_figure(found, "demo laminate").axes[0]
    texts = [t.get_text() for t in axes.texts]
    assert "inward" in texts and "outward" in texts
    lines = [np.asarray(line.get_ydata(), dtype=float) for line in axes.lines]
    assert any(len(y) == 201 and np.nanmax(np.abs(y * NG / found.outward.curve(EVERY2) - 1)) < 1e-9 for y in lines)


EVERY2 = np.linspace(0.0, 1.0, 201)


def test_a_film_that_does_not_vary():
    found = quiet(cups(Constant(57.2135 * NG)), draws=50)
    assert found.curve(EVERY) == pytest.approx(np.full(101, 57.2135 * NG), rel=0.01)


@pytest.mark.parametrize(
    ("tests", "options", "words"),
    [
        ([], {}, "there are no tests"),
        (cups()[:1], {}, "there is 1 test"),
        ([CupTest(0.0, 0.5), CupTest(1.0, 0.5)], {}, "test 1: it has no measured permeance"),
        ([CupTest(0.0, 0.5, permeance=1e-9)] * 2, {}, "no uncertainty"),
        (cups(), {"family": "logistik"}, "did you mean 'logistic'"),
        (cups(), {"method": "jackknife"}, "'laplace' or 'bootstrap'"),
        ([CupTest(0.0, 0.5, permeance=2e-8, uncertainty=0.05, air_layer=0.02)] * 2, {}, "the air alone"),
    ],
)
def test_what_cannot_be_fitted(tests, options, words):
    with pytest.raises(InputError, match=words):
        fit(tests, **options)


CSV = """# demo
cup, room [%], permeance [ng/(Pa s m2)], uncertainty, temperature, air layer, surface, corrected, turned, name
0 %, 50, 5.9, 5 %, 23 degC, 15 mm, 2.5e-8 kg/(m2 s Pa), no, yes, dry
1, 50, 760, 0.1, , , , , ,
"""
TOML = """
[[test]]
cup = 0.0
room = "50 %"
permeance = "5.9 ng/(Pa s m2)"
uncertainty = "5 %"
air_layer = "15 mm"
surface = "2.5e-8 kg/(m2 s Pa)"
turned = true
name = "dry"

[[test]]
cup = "100 %"
room = 0.5
permeance = "760 ng/(Pa s m2)"
uncertainty = 0.1
"""


@pytest.mark.parametrize(("name", "text"), [("a.csv", CSV), ("a.toml", TOML)])
def test_reading_a_file(tmp_path, name, text):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    first, second = read_cup_tests(path)
    assert first.permeance == pytest.approx(5.9e-12) and first.surface_resistance == pytest.approx(4e7)
    want = CupTest(0.0, 0.5, 296.15, first.permeance, 0.05, 0.015, first.surface_resistance, False, True, "dry")
    assert first == want
    assert second == CupTest(1.0, 0.5, permeance=second.permeance, uncertainty=0.1)


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("a.csv", "", "empty"),
        ("a.csv", "cup,room", "there is no test"),
        ("a.csv", "cup,rom\n0,0.5", "line 1: 'rom' is not known here; did you mean 'room'"),
        ("a.csv", "cup,cup\n0,0.5", "twice"),
        ("a.csv", "cup,permeance\n0,5 perm", "line 2: 'room' is missing"),
        ("a.csv", "cup,room,permeance\n0,0.5,5", "no unit"),
        ("a.csv", "cup,room,turned\n0,0.5,perhaps", "write yes or no"),
        ("a.csv", "cup,room,surface\n0,0.5,0 perm", "leave it out"),
        ("a.csv", "cup,room\n0,0.5,3", "3 values for 2 columns"),
        ("a.csv", "cup,room\n0,0", "line 2: cup and room are both"),
        ("a.toml", "test = 3", "write .*test"),
        ("a.toml", "[[test]]\ncup = ", "no valid TOML"),
        ("a.txt", "cup", "must end in .csv or .toml"),
    ],
)
def test_files_that_cannot_be_read(tmp_path, name, text, words):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=words) as error:
        read_cup_tests(path)
    assert str(path) in str(error.value) and "\n" not in str(error.value)


def test_no_such_file(tmp_path):
    with pytest.raises(InputError, match="no such file"):
        read_cup_tests(tmp_path / "a.csv")
    with pytest.raises(InputError, match="folder"):
        read_cup_tests(tmp_path)
