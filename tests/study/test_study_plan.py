"""Paths, axes, designs: which cases a study makes."""

import datetime
import tomllib

import numpy as np
import pytest
from drydown import InputError
from drydown.casefile.paths import parts_of, put, resolve
from drydown.study import Axis, Distribution, FunctionModel, Grid, Listed, Sampled, Study
from drydown.study.toml_text import toml_text
from scipy import stats

DOCUMENT = {
    "inside": {"humidity": "45 %"},
    "layer": [{"material": "OSB", "thickness": "11 mm"}, {"film": "film 0.05 mm"}, {"material": "OSB", "name": "in"}],
    "wetting": [{"layer": "OSB", "amount": "1 kg/m2"}],
}


@pytest.mark.parametrize(
    ("path", "place"),
    [
        ("inside.humidity", ("inside", "humidity")),
        ("layer.1.thickness", ("layer", 0, "thickness")),
        ('layer."film 0.05 mm".film', ("layer", 1, "film")),
        ("layer.in.thickness", ("layer", 2, "thickness")),
        ("wetting.OSB.amount", ("wetting", 0, "amount")),
        ("wetting.1.date", ("wetting", 0, "date")),
        ("numerics.refine", ("numerics", "refine")),
    ],
)
def test_a_path_names_a_place(path, place):
    assert resolve(DOCUMENT, path) == place


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ("layer.OSB.thickness", "layers 1 and 3 are all 'OSB'"),
        ("layer.0.thickness", "counted from 1"),
        ("layer.4.thickness", "there are 3"),
        ("layer.osb.thickness", "layers 1 and 3 are all 'osb'"),
        ("layer.OBS.thickness", "did you mean 'OSB'"),
        ("layer.1", "holds several keys"),
        ("inside", "only a section"),
        ("nothing", "no section of a case file"),
        ("inside.humidity.more", "is a value"),
        ("inside.", "ends with a dot"),
        ('layer."OSB', "no path"),
    ],
)
def test_a_path_that_leads_nowhere_says_so(path, said):
    with pytest.raises(InputError, match=said):
        resolve(DOCUMENT, path)


def test_put_makes_a_section_that_is_not_there():
    document = {"inside": {}}
    put(document, resolve(document, "numerics.refine"), 2.0)
    assert document == {"inside": {}, "numerics": {"refine": 2.0}}
    assert parts_of("a.'b.c'.d") == ("a", "b.c", "d")


def test_written_toml_reads_back_the_same():
    document = {
        "title": 'He said "so" \\ and\nleft, 5 µm',
        "n": 3,
        "x": 1e-11,
        "yes": True,
        "at": datetime.date(2022, 1, 15),
        "when": datetime.datetime(2022, 1, 15, 6),
        "list": ["a", "b"],
        "inside": {"humidity": "45 %", "deep er": {"k": 1}},
        "layer": [{"material": "OSB"}, {"film": "f", "permeance": {"low": 1.5}}],
        "film": {"mine 0.1": {"permeance": "1 perm"}},
    }
    assert tomllib.loads(toml_text(document)) == document
    assert list(tomllib.loads(toml_text(document))["layer"][1]) == ["film", "permeance"]


CASES = [
    (Distribution("uniform", {"low": 2.0, "high": 6.0}), stats.uniform(2, 4)),
    (Distribution("normal", {"mean": 5.0, "sd": 2.0}), stats.norm(5, 2)),
    (Distribution("normal", {"mean": 5.0, "sd": 2.0, "low": 3.0, "high": 8.0}), stats.truncnorm(-1, 1.5, 5, 2)),
    (Distribution("log-normal", {"median": 3.0, "factor": 2.0}), stats.lognorm(np.log(2.0), scale=3.0)),
    (Distribution("log-uniform", {"low": 0.1, "high": 10.0}), stats.loguniform(0.1, 10.0)),
    (Distribution("triangular", {"low": 1.0, "mode": 2.0, "high": 5.0}), stats.triang(0.25, 1, 4)),
    (Distribution("beta", {"a": 2.0, "b": 3.0, "low": 1.0, "high": 3.0}), stats.beta(2, 3, 1, 2)),
    (Distribution("weibull", {"shape": 2.0, "scale": 4.0}), stats.weibull_min(2, scale=4)),
]


@pytest.mark.parametrize(("ours", "reference"), CASES, ids=lambda d: getattr(d, "kind", ""))
def test_distributions_are_those_of_scipy(ours, reference):
    q = np.linspace(0.01, 0.99, 37)
    np.testing.assert_allclose(ours.ppf(q), reference.ppf(q), rtol=1e-10)


def test_whole_numbers_have_equal_weight():
    q = (np.arange(6000) + 0.5) / 6000
    values, counts = np.unique(Distribution("whole", {"low": 2, "high": 4}).ppf(q), return_counts=True)
    assert values.tolist() == [2, 3, 4] and set(counts) == {2000}


@pytest.mark.parametrize(
    ("kind", "given", "said"),
    [
        ("nrmal", {}, "did you mean 'normal'"),
        ("normal", {"mean": 1.0}, "needs 'sd'"),
        ("normal", {"mean": 1.0, "sd": 0.0}, "sd is 0"),
        ("uniform", {"low": 2.0, "high": 1.0}, "not below"),
        ("uniform", {"low": 1.0, "high": 2.0, "mean": 1.5}, "no parameter 'mean'"),
        ("log-uniform", {"low": 0.0, "high": 2.0}, "greater than 0"),
        ("triangular", {"low": 1.0, "mode": 6.0, "high": 5.0}, "mode"),
    ],
)
def test_a_distribution_that_cannot_be_is_refused(kind, given, said):
    with pytest.raises(InputError, match=said):
        Distribution(kind, given)


def sum_of(**values):
    return sum(values.values())


MODEL = FunctionModel(sum_of)


def test_a_grid_is_every_combination_and_the_last_axis_runs_fastest():
    study = Study((Axis("a", (1, 2)), Axis("b", (10, 20, 30))), MODEL)
    assert study.points == {"a": [1, 1, 1, 2, 2, 2], "b": [10, 20, 30, 10, 20, 30]}


def test_a_list_pairs_its_axes():
    study = Study((Axis("a", (1, 2)), Axis("b", (10, 10))), MODEL, Listed())
    assert [study.point(i) for i in range(2)] == [{"a": 1, "b": 10}, {"a": 2, "b": 10}]
    with pytest.raises(InputError, match="2 in 'a', 1 in 'b'"):
        len(Study((Axis("a", (1, 2)), Axis("b", (10,))), MODEL, Listed()))
    with pytest.raises(InputError, match="more than once"):
        len(Study((Axis("a", (1, 1)),), MODEL, Grid()))


UNIT = Distribution("uniform", {"low": 0.0, "high": 1.0})


@pytest.mark.parametrize("method", ["latin hypercube", "sobol", "random", "sobol indices"])
def test_samples_depend_on_the_seed_alone(method):
    axes = (Axis("x", distribution=UNIT), Axis("y", distribution=UNIT))
    one, same, other = (Sampled(method, 32, seed).points(axes) for seed in (5, 5, 6))
    assert one == same != other


def test_a_latin_hypercube_meets_every_stratum_once():
    axes = (Axis("x", distribution=UNIT), Axis("kind", ("p", "q")))
    points = Sampled("latin hypercube", 50, 1).points(axes)
    assert sorted(np.floor(50 * np.array(points["x"])).astype(int)) == list(range(50))
    assert points["kind"].count("p") == 25


def test_samples_carry_the_unit_and_dates_are_whole_hours():
    axis = Axis("h", distribution=Distribution("uniform", {"low": 40, "high": 60}), unit="%")
    values = axis.levels(np.array([0.25, 0.75]))
    assert values == ["45.0 %", "55.0 %"]
    array, attributes = axis.column(values)
    assert array.tolist() == [45.0, 55.0] and attributes["units"] == "%"
    day = 86400.0
    dates = Axis("d", distribution=Distribution("uniform", {"low": 0.0, "high": day}), dates=True)
    assert dates.levels(np.array([0.52])) == [datetime.datetime(1970, 1, 1, 12)]


def test_a_sobol_sequence_needs_a_power_of_two():
    with pytest.raises(InputError, match="such as 128"):
        Sampled("sobol", 100)


@pytest.mark.parametrize("parts", [1, 3, 7, 200])
def test_parts_are_all_blocks_once(parts):
    study = Study((Axis("a", tuple(range(103))),), MODEL, block=5)
    blocks = sorted(b for i in range(parts) for b in study.share(i + 1, parts))
    assert blocks == list(range(21))
    assert [c for b in blocks for c in study.cases_of(b)] == list(range(103))


def test_names_that_collide_are_refused():
    for axes, said in [
        ((), "no axes"),
        ((Axis("a", (1,)), Axis("a", (2,))), "two axes"),
        ((Axis("value", (1,)),), "both"),
    ]:
        with pytest.raises(InputError, match=said):
            Study(axes, MODEL)
    with pytest.raises(InputError, match="taken"):
        Axis("case", (1,))
