"""Criteria on results that are made up, whose answer can be worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest
from drydown import InputError
from drydown.criteria import Criterion, Finding, assess, catalogue, exposed, worst_of
from drydown.criteria.humidity import RunningMean
from drydown.criteria.limits import known_limits, parse_limits
from drydown.criteria.reading import read_wall
from drydown.materials.kinds import group_of
from drydown.plugins import criteria, material
from synthetic_results import results

OURS = catalogue()
DAY = 24


def judge(name, dataset, **limits):
    return OURS[name].judge(dataset, limits)


def test_every_criterion_is_installed_with_source_and_validity():
    found = criteria().entries()
    assert set(OURS) <= set(found)
    names = [limit.name for c in found.values() for limit in c.limits]
    assert len(names) == len(set(names))
    for c in OURS.values():
        assert c.source.authors and c.source.kind and c.validity and c.title
        for limit in c.limits:
            assert limit.about and limit.source.kind


def test_running_mean_against_the_plain_sum():
    """A window of 24 h over hourly marks: trapezoids, written out."""
    rng = np.random.default_rng(3)
    x = rng.random((100, 2))
    got = RunningMean(24.0).feed(np.ones(99), np.ones(99, bool), x)
    assert np.all(np.isnan(got[:23])) and not np.any(np.isnan(got[23:]))
    for i in (24, 25, 60, 99):
        piece = x[i - 24 : i + 1]
        assert got[i - 1] == pytest.approx((piece[1:-1].sum(axis=0) + 0.5 * (piece[0] + piece[-1])) / 24.0)


def test_running_mean_of_a_window_that_ends_between_marks():
    """A line has its mean in the middle of the window, wherever that begins."""
    hour = np.arange(0.0, 70.0, 7.0)
    got = RunningMean(24.0).feed(np.full(9, 7.0), np.ones(9, bool), hour[:, None])
    assert got[3:, 0] == pytest.approx(hour[4:] - 12.0)
    assert np.all(np.isnan(got[:3]))


def test_running_mean_knows_gaps():
    """No mean where the window holds a gap; again a mean when the gap has left it."""
    x, whole = np.ones((100, 1)), np.ones(99, bool)
    whole[50] = False
    x[60] = np.nan
    whole[59:61] = False
    got = RunningMean(10.0).feed(np.ones(99), whole, x)[:, 0]
    missing = np.flatnonzero(np.isnan(got)) + 1
    assert list(missing) == [*range(1, 10), *range(51, 71)]
    assert np.nanmax(abs(got - 1.0)) < 1e-12


@pytest.mark.parametrize("cut", [1, 7, 23, 24, 25, 90])
def test_running_mean_does_not_depend_on_blocks(cut):
    rng = np.random.default_rng(4)
    x, hours, whole = rng.random((200, 3)), rng.uniform(0.5, 3.0, 199), rng.random(199) > 0.02
    at_once = RunningMean(24.0).feed(hours, whole, x)
    mean = RunningMean(24.0)
    parts = [mean.feed(hours[i : i + cut], whole[i : i + cut], x[i : i + cut + 1]) for i in range(0, 199, cut)]
    got = np.concatenate(parts)
    assert np.array_equal(np.isnan(got), np.isnan(at_once))
    assert np.allclose(got, at_once, rtol=1e-11, atol=0, equal_nan=True)
    assert len(mean.hour) < 70


def test_thirty_days_above_eighty_count_only_between_5_and_40_degrees():
    n = 60 * DAY + 1
    damp = np.where(np.arange(n) > 20 * DAY, 0.9, 0.5)
    found = judge("humidity 30 days", results(np.full(n, 15.0), damp))
    assert found.verdict == "exceeded" and found.value == pytest.approx(0.9, abs=1e-3)
    assert found.place.layer == "OSB" and found.screening
    assert judge("humidity 30 days", results(np.full(n, 3.0), damp)).verdict == "not applicable"
    assert judge("humidity 30 days", results(np.full(n, 15.0), damp), humidity_30_days=0.95).verdict == "fine"
    short = judge("humidity 30 days", results(np.full(29 * DAY, 15.0), 0.9))
    assert short.verdict == "not applicable" and np.isnan(short.value)


def test_wood_counts_its_spell_above_twenty_percent():
    """Above for 40 days, below for 3 days, above for 10: 50 days with a break; a pause of 20 days makes two spells."""
    wet, dry = 0.25 * 650.0, 0.15 * 650.0

    def water(pause):
        return np.concatenate([[dry], *([w] * int(24 * d) for w, d in [(wet, 40), (dry, pause), (wet, 10), (dry, 30)])])

    w = water(3)
    found = judge("wood moisture", results(np.full(len(w), 10.0), 0.8, w))
    # by the mean of a day, of which the first half day of the run has none
    assert found.value == pytest.approx(49.5, abs=0.1) and found.verdict == "watch" and found.case == "short"
    assert found.value <= found.facts["total"][0] + 1e-9
    assert found.facts["how"] == "with breaks of at most a week"
    assert found.facts["peak"][0] == pytest.approx(0.25)
    w = water(20)
    found = judge("wood moisture", results(np.full(len(w), 10.0), 0.8, w))
    assert found.value == pytest.approx(39.5, abs=0.1) and found.facts["how"] == "on end"
    assert judge("wood moisture", results(np.full(len(w), 10.0), 0.8, w), wood_days=30 * 86400.0).verdict == "exceeded"
    assert judge("wood moisture", results(np.full(len(w), 10.0), 0.8, w), wood_moisture=0.26).verdict == "fine"
    # one number for one thing: the peak of the one is the value of the other
    wettest = judge("fibre saturation", results(np.full(len(w), 10.0), 0.8, w))
    assert wettest.value == found.facts["peak"][0] == pytest.approx(0.25)


def test_panels_of_wood_have_a_limit_of_their_own():
    w = np.full(60 * DAY, 0.19 * 650.0)
    assert judge("wood moisture", results(np.full(len(w), 10.0), 0.8, w, kinds=("panel",))).verdict == "watch"
    assert judge("wood moisture", results(np.full(len(w), 10.0), 0.8, w, kinds=("wood",))).verdict == "fine"


def years_of_wood(level):
    """Three years, a day a mark; `level` of the year gives moisture content."""
    day = np.arange(int(3 * 365.2425) + 1)
    return results(np.full(len(day), 8.0), 0.8, 650.0 * level(day / 365.2425), hours=24.0, start="2020-07-01")


def test_a_wet_winter_a_wet_wall_and_one_that_gets_wetter_are_told_apart():
    """Sheathing above 20 % for five months each winter and dry in summer was sound when opened (BA-1501)."""

    def winter(base, swing, rise=0.0):
        return lambda year: base + swing * np.cos(2 * np.pi * (year - 0.5)) + rise * year

    seasonal = judge("wood moisture", years_of_wood(winter(0.19, 0.05)))
    assert seasonal.case == "seasonal" and seasonal.verdict == "watch" and 100 < seasonal.value < 220
    wet = judge("wood moisture", years_of_wood(winter(0.23, 0.02)))
    assert wet.case == "stays" and wet.verdict == "exceeded"
    rising = judge("wood moisture", years_of_wood(winter(0.15, 0.04, 0.03)))
    assert rising.case == "gains" and rising.verdict == "exceeded"
    assert seasonal.severity < wet.severity < rising.severity
    # the same winter of a board that water got into: that is to leave within three months
    leak = years_of_wood(winter(0.19, 0.05)).assign_coords(wetting=["1: OSB"])
    leak["water_added"] = (("time", "wetting"), np.ones((leak.sizes["time"], 1)))
    assert judge("wood moisture", leak).case == "stays"
    assert len({f.harm for f in (seasonal, wet, rising)}) == 3


def test_wood_needs_wood_and_a_density():
    plain = results(np.full(100, 10.0), 0.8, kinds=("mineral",))
    assert judge("wood moisture", plain).verdict == "not applicable"
    unknown = results(np.full(100, 10.0), 0.8).drop_vars("density_of_layer")
    assert judge("fibre saturation", unknown).verdict == "not applicable"


def test_time_of_wetness_counts_warm_and_wet_hours():
    """A year of days: warm at 12 to 24 h, wet at 6 to 18 h: six hours a day, to the interval that changes."""
    hour = np.arange(366 * DAY + 1) % 24
    t, h = np.where(hour >= 12, 5.0, -5.0), np.where((hour >= 6) & (hour < 18), 0.9, 0.7)
    found = judge("corrosion", results(t, h))
    assert found.value == pytest.approx(6 * 365.2425, rel=0.01) and found.verdict == "watch"
    assert judge("corrosion", results(t[: 90 * DAY], h[: 90 * DAY])).verdict == "not applicable"
    assert judge("corrosion", results(t, h), corrosion_hours=2000 * 3600.0).verdict == "exceeded"


def test_frost_counts_freezings_that_are_wet_enough():
    """Forty nights of frost, every other while the pores are filled to 0.9."""
    day = np.arange(400)
    t = np.where(np.arange(800) % 2 == 1, np.where(np.arange(800) < 80, -6.0, 3.0), 3.0)
    w = np.repeat(np.where(day % 2 == 0, 0.9 * 300.0, 0.6 * 300.0), 2)
    data = results(t, 0.95, w, hours=12.0, layers=("brick",), kinds=("mineral",), full=300.0)
    found = judge("frost", data)
    assert found.value == pytest.approx(20.0 / (799 * 0.5 / 365.2425), rel=1e-3)
    assert found.verdict == "exceeded"
    assert judge("frost", data, frost_saturation=0.95).value == 0.0
    # a wave between -1.5 and -0.5 degC freezes once, not each time
    shallow = results(np.tile([-1.5, -0.5], 200), 0.95, 290.0, layers=("brick",), kinds=("mineral",), full=300.0)
    assert judge("frost", shallow).value == 0.0  # it was frozen when the run began
    shallow["temperature"][0] = 278.15
    assert judge("frost", shallow).value == 1.0


def test_condensate_is_what_lies_above_the_hygroscopic_range():
    n = 2 * 366 * DAY
    w = np.full(n, 150.0)
    w[1000:2000] = 320.0
    found = judge("condensation", results(np.full(n, 10.0), 0.9, w))
    assert found.value == pytest.approx(0.01 * (320.0 - 200.0)) and found.verdict == "exceeded"
    assert found.case == "stands"
    assert judge("condensation", results(np.full(n, 10.0), 0.9, w), condensate=1.5).verdict == "watch"
    w[5000:] = 205.0
    kept = judge("free water left", results(np.full(n, 10.0), 0.9, w))
    assert kept.verdict == "exceeded" and kept.case == "stays" and kept.value > kept.limit
    w[:] = 260.0
    w[0] = 150.0
    smooth = judge("condensation", results(np.full(n, 10.0), 0.9, w, kinds=("insulation",)))
    assert smooth.limit == 0.5 and smooth.value == pytest.approx(0.6)


def test_accumulation_compares_years():
    n = int(3 * 365.2425 * DAY) + 24
    year = np.arange(n) / (365.2425 * DAY)
    season = 30.0 * np.sin(2.0 * np.pi * year)
    rising = judge("accumulation", results(np.full(n, 10.0), 0.8, 100.0 + season + 20.0 * year))
    assert rising.value == pytest.approx(0.2, rel=0.01) and rising.verdict == "exceeded"
    steady = judge("accumulation", results(np.full(n, 10.0), 0.8, 100.0 + season))
    assert steady.verdict == "fine" and abs(steady.value) < 1e-3
    two = slice(0, int(2 * 365.2425 * DAY) + 24)
    settling = judge("accumulation", results(np.full(n, 10.0), 0.8, 100.0 + season + 20.0 * year).isel(time=two))
    assert settling.verdict == "watch" and settling.case == "gains, third year"
    assert judge("accumulation", results(np.full(500, 10.0), 0.8)).verdict == "not applicable"


def test_the_worst_place_of_all_layers_is_named():
    n = 200 * DAY
    h = np.stack([np.full(n, 0.6), np.full(n, 0.7), np.full(n, 0.97), np.full(n, 0.5)], axis=1)
    layers = ("spruce cladding", "air gap", "OSB", "gypsum board")
    data = results(np.full((n, 4), 20.0), h, layers=layers, kinds=("wood", "air", "wood", "other"))
    found = judge("mould", data)
    assert (
        found.place.layer == "OSB" and found.place.what == "outer face" and found.place.distance == pytest.approx(0.02)
    )
    assert found.verdict == "exceeded"
    by_layer = {r.layer: r for r in found.by_layer}
    assert set(by_layer) == {"spruce cladding", "OSB", "gypsum board"}  # nothing grows on air
    assert by_layer["gypsum board"].verdict == "fine" and by_layer["OSB"].value == found.value
    values = OURS["mould"].values(data)
    of = values["layer_of_spot"].values == "OSB"
    assert values.dims == ("time", "spot") and float(values[-1, of].max()) == pytest.approx(found.value)
    assert float(values.max()) == pytest.approx(found.value)


def test_mould_grows_on_faces_and_in_fibres():
    n, cells = 200 * DAY, 7
    layers = ("brick", "wool")
    data = results(np.full((n, 2), 20.0), np.full((n, 2), 0.5), layers=layers, kinds=("mineral", "insulation"))
    h = np.full((n, cells), 0.5)
    h[:, [1, 4, 5]] = 0.99  # in the middle of each layer
    state = {
        "temperature": (("time", "cell"), np.full((n, cells), 293.15)),
        "relative_humidity": (("time", "cell"), h),
        "water_content": (("time", "cell"), h),
    }
    coords = {
        "time": data["time"],
        "width": ("cell", np.full(cells, 0.01)),
        "layer_of_cell": ("cell", ["brick"] * 3 + ["wool"] * 4),
    }
    fine = data.drop_dims("cell").assign(state).assign_coords(coords)
    found = judge("mould", fine)
    assert found.place.layer == "wool" and found.place.what == ""
    assert {r.layer: r.value for r in found.by_layer}["brick"] == 0.0


def test_the_outer_skin_is_left_to_the_weather():
    n = 200 * DAY
    h = np.stack([np.full(n, 0.99), np.full(n, 0.5)], axis=1)
    data = results(np.full((n, 2), 15.0), h, layers=("cladding", "OSB"), kinds=("wood", "wood"))
    assert judge("mould", data).place.layer == "cladding"
    assert exposed(data) == []
    data["rain_offered"] = ("time", np.linspace(0.0, 40.0, n))
    data["rain_run_off"] = data["rain_offered"]  # under a film that takes up no rain: roofing
    assert judge("mould", data).place.layer == "cladding"
    data["rain_run_off"] = 0.5 * data["rain_offered"]
    assert [str(place) for place in exposed(data)] == ["'cladding'"]
    assert judge("mould", data).place.layer == "OSB"
    assert judge("mould", data).verdict == "fine"
    thick = {"layers": ("brick", "brick", "wool"), "kinds": ("mineral", "mineral", "insulation")}
    data = results(np.full((n, 3), 15.0), np.full((n, 3), 0.9), **thick)
    data = data.assign(width=("cell", [0.03, 0.03, 0.02]))
    data["rain_offered"] = ("time", np.linspace(0.0, 40.0, n))
    data["rain_run_off"] = 0.5 * data["rain_offered"]
    assert [str(place) for place in exposed(data)] == ["the outer 30 mm of 'brick'"]


def test_a_gap_in_the_record_neither_grows_nor_declines():
    n = 100
    hours = np.ones(n - 1)
    hours[49] = 5000.0
    data = results(np.full(n, 20.0), 0.97, hours=hours)
    short = judge("mould", results(np.full(n - 1, 20.0), 0.97))
    assert judge("mould", data).value == pytest.approx(short.value, rel=1e-9)
    data["relative_humidity"][70:80] = np.nan
    assert judge("mould", data).value < short.value


def test_values_can_be_thinned():
    n = 5000
    data = results(np.full(n, 20.0), 0.9 + 0.05 * np.sin(np.arange(n) / 50.0))
    whole, thin = OURS["mould"].values(data), OURS["mould"].values(data, every=7)
    assert np.array_equal(whole[::7], thin) and np.array_equal(whole["time"][::7], thin["time"])


def test_names_that_do_not_exist_are_refused_in_one_line():
    data = results(np.full(50, 20.0), 0.5)
    with pytest.raises(InputError, match="no limit is called 'mold_index'; did you mean 'mould_index'"):
        assess(data, {"mold_index": 2.0})
    with pytest.raises(InputError, match="no criterion is called 'mouls'; did you mean 'mould'"):
        assess(data, only=["mouls"])
    with pytest.raises(InputError, match="layer 'OSB': no mould class is called 'sensitiv'; did you mean 'sensitive'"):
        assess(data.assign_coords(mould_class_of_layer=("layer", ["sensitiv"])))
    with pytest.raises(InputError, match="'layer_water' is missing"):
        assess(data.drop_vars("layer_water"))


def test_limits_are_read_with_units():
    given = {"mould_index": 2, "wood_moisture": "18 %MC", "wood_days": "60 days", "frost_freezing": "-2 degC"}
    read = parse_limits(given, "wall.toml, limits")
    assert read == pytest.approx(
        {"mould_index": 2.0, "wood_moisture": 0.18, "wood_days": 60 * 86400.0, "frost_freezing": 271.15}
    )
    with pytest.raises(InputError, match=r"wall.toml, limits: 'mould' is not known here; did you mean"):
        parse_limits({"mould": 2}, "wall.toml, limits")
    with pytest.raises(InputError, match="a plain number from 0 on"):
        parse_limits({"mould_index": "two"}, "wall.toml, limits")
    assert set(read) <= set(known_limits())


def test_a_criterion_of_another_package_is_asked_too(monkeypatch):
    class Warmest:
        name, title, limits = "warmest", "highest temperature", ()

        def values(self, dataset, limits=None):
            return dataset["temperature"]

        def judge(self, dataset, limits=None):
            top = float(dataset["temperature"].max())
            source = OURS["mould"].source
            return Finding("warmest", "t", None, top, "K", 310.0, "fine", None, source, "everywhere", "")

    registry = criteria()
    monkeypatch.setitem(registry.plugins, "another", {"warmest": Warmest()})
    found = assess(results(np.full(50, 20.0), 0.5))
    assert [f.value for f in found if f.criterion == "warmest"] == [pytest.approx(293.15)]
    assert all(isinstance(c, Criterion) for c in OURS.values())


def test_verdict_of_all_leaves_screening_out():
    n = 60 * DAY
    found = assess(results(np.full(n, 6.0), 0.82, 60.0))
    assert {f.criterion: f.verdict for f in found}["humidity 30 days"] == "exceeded"
    assert worst_of(found) == "fine"


@pytest.mark.parametrize(
    ("entry", "klass"),
    [
        # Ojanen et al. (2010), Buildings XI, tables 4 and 6
        ("southern yellow pine", "very sensitive"),
        ("spruce", "sensitive"),
        ("OSB", "sensitive"),
        ("gypsum board", "sensitive"),
        ("concrete", "medium resistant"),
        ("aerated concrete", "medium resistant"),
        ("mineral wool", "medium resistant"),
        ("glass fibre batt", "medium resistant"),
        ("fibre cement", "medium resistant"),
        ("polyisocyanurate", "resistant"),
        ("steel sheet", "resistant"),
        ("air gap 25 mm", ""),
        # the safe side (assumed)
        ("wood fibre insulation", "sensitive"),
        ("dense cellulose", "sensitive"),
        ("expanded polystyrene", "medium resistant"),
    ],
)
def test_mould_class_of_library_entries(entry, klass):
    """By the material, whatever the layer is called."""
    m = material(entry)
    data = results([20.0] * 3, [0.5] * 3, layers=("the layer",), kinds=(group_of(m.tags, m.name),))
    data = data.assign_coords(material_of_layer=("layer", [m.name]), tags_of_layer=("layer", [", ".join(m.tags)]))
    assert read_wall(data).mould_classes == (klass,)
