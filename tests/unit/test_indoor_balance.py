"""Indoor air from a balance, and from a measured file."""

import dataclasses

import numpy as np
import pytest
from drydown.case.sides import Chamber, Physics
from drydown.errors import InputError
from drydown.moist_air import saturation_pressure_iso13788 as saturation
from drydown.sides.indoor import CEILING, FLOOR, WALL, Indoor
from drydown.sides.indoor_balance import MoistureBalance, dwelling_production
from drydown.sides.indoor_measured import read_indoor

MARKS = np.arange("2023-01-01T01", "2023-01-02T01", dtype="M8[h]").astype("M8[s]")
PHYSICS = Physics()
HOUSE = MoistureBalance(production=dwelling_production(2), volume=250.0)


def inside(model, outside=273.15, humidity=0.8):
    return Indoor(model).forcing(MARKS, PHYSICS, Chamber(outside, humidity))


# -- balance --------------------------------------------------------------------------------------------


def test_excess_of_the_balance_is_production_over_ventilation():
    # 12 kg a day, 250 m3, 0.2 air changes: 0.5 kg/h into 50 m3/h are 10 g/m3 (ISO 13788, G/(n V)).
    f = inside(HOUSE)
    above = (f.vapour_pressure - 0.8 * saturation(273.15)) / (461.5 * f.temperature)
    assert np.allclose(above, 0.010, rtol=1e-9)
    twice = inside(dataclasses.replace(HOUSE, air_changes=0.4 / 3600.0))
    assert np.allclose((twice.vapour_pressure - 488.4) / (f.vapour_pressure - 488.4), 0.5, rtol=1e-3)


def test_balance_in_summer_with_and_without_cooling():
    warm = inside(HOUSE, 301.15, 0.6)
    assert np.allclose(warm.temperature, 301.15)
    cooled = inside(dataclasses.replace(HOUSE, cooling=297.15, humidity_cap=0.55), 301.15, 0.6)
    assert np.allclose(cooled.temperature, 297.15)
    assert np.allclose(cooled.vapour_pressure, 0.55 * saturation(297.15))
    tight = inside(dataclasses.replace(HOUSE, air_changes=0.01 / 3600.0))
    assert np.allclose(tight.vapour_pressure, saturation(tight.temperature))
    assert "balance of 12 kg a day and 0.2 air changes an hour in 250 m3, heated to 21.1 degC" in HOUSE.describe()


def test_inner_films_by_the_way_of_the_heat():
    assert [round(1 / f.heat_transfer, 9) for f in (WALL, CEILING, FLOOR)] == [0.13, 0.10, 0.17]
    f = Indoor(HOUSE, *CEILING)
    assert (f.heat_transfer, f.vapour_transfer) == CEILING


# -- measured -------------------------------------------------------------------------------------------

HEAD = "# drydown_indoor: 1\n# name: reading room\n# source: demo\n"


def record(tmp_path, head=HEAD, columns="time,temperature [degC],humidity [%]", n=48, spoil=None, name="room.csv"):
    stamps = np.arange("2023-01-01T01", "2024-01-01T01", dtype="M8[h]")[:n]
    rows = [f"{str(s).replace('T', ' ')},{20 + (k % 24) / 10:.1f},{40 + k % 5}" for k, s in enumerate(stamps)]
    for k in spoil or ():
        rows[k] = rows[k].split(",")[0] + ",,"
    path = tmp_path / name
    path.write_text(head + columns + "\n" + "\n".join(rows) + "\n")
    return path


def test_measured_air_is_taken_as_it_is(tmp_path):
    m = read_indoor(record(tmp_path))
    f = Indoor(m).forcing(MARKS, PHYSICS)
    assert np.allclose(f.temperature, 293.15 + np.arange(24) / 10.0)
    assert np.allclose(f.vapour_pressure / saturation(f.temperature), (40 + np.arange(24) % 5) / 100.0)
    assert f.notes["indoor"] == "measured, reading room, 2023-01-01 00:00 to 2023-01-03 00:00 (demo)"


def test_other_units_dew_point_and_gaps(tmp_path):
    path = record(tmp_path, columns="time,temperature [degC],dew_point [degF]", spoil=(5, 6))
    m = read_indoor(path)
    # 40 degF is 4.44 degC, 841 Pa (ASHRAE Handbook, about); at 20.0 degC, 2339 Pa, that is 36 %.
    assert m.record.humidity[0] == pytest.approx(0.36, abs=0.002)
    assert "temperature was interpolated in 2 hours" in m.describe()


def test_a_record_outside_the_run_is_refused_or_repeated(tmp_path):
    later = MARKS + np.timedelta64(400 * 86400, "s")
    m = read_indoor(record(tmp_path))
    with pytest.raises(InputError, match=r"measured indoor air: .*reading room.*2024-02-05 01:00"):
        Indoor(m).forcing(later, PHYSICS)
    m = read_indoor(record(tmp_path, HEAD + "# cyclic: yes\n", n=8760))
    assert np.isfinite(Indoor(m).forcing(later, PHYSICS).temperature).all()
    assert "repeated by calendar outside it" in m.describe()


@pytest.mark.parametrize(
    ("how", "words"),
    [
        (
            dict(columns="time,temperature [degC],rain [mm/h]"),
            "means nothing indoors; leave out the column rain",
        ),
        (dict(columns="time,temperature [degC],humidity"), "room.csv, line 4: column humidity has no unit"),
        (dict(head=HEAD + "# latitude: 59\n"), "key 'latitude' is not known"),
        (dict(head="# drydown_indoor: 7\n"), "schema 7 is not known"),
        (dict(spoil=range(10, 30)), "temperature is missing for 20 hours from 2023-01-01 11:00"),
    ],
)
def test_files_are_refused_in_one_line(tmp_path, how, words):
    with pytest.raises(InputError) as e:
        read_indoor(record(tmp_path, **how))
    assert words in str(e.value) and "\n" not in str(e.value)


def test_a_file_that_is_not_there_names_its_neighbours(tmp_path):
    record(tmp_path)
    with pytest.raises(InputError, match=r"did you mean 'room.csv'"):
        read_indoor(tmp_path / "rooms.csv")


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: MoistureBalance(1e-4, 250.0, air_changes=0.0), "air_changes is 0 1/s"),
        (lambda: MoistureBalance(12.0, 250.0), "production is 12 kg/s"),
        (lambda: MoistureBalance(1e-4, 250.0, cooling=290.0), "lies below heating"),
        (lambda: MoistureBalance(1e-4, 250.0, humidity_cap=55.0), "0.55"),
        (lambda: dwelling_production(0), "bedrooms is 0"),
    ],
)
def test_refusals(make, words):
    with pytest.raises(InputError) as e:
        make()
    assert words in str(e.value) and "\n" not in str(e.value)


SAUNA = """# drydown_indoor: 1
# name: sauna
time,temperature [degC],humidity [%]
"""


def _sauna(folder, hot):
    """Return the path of two days of a room that is heated from five to nine, to so many degrees."""
    rows = [
        f"2024-01-0{1 + h // 24} {h % 24:02d}:00,{hot if 17 <= h % 24 < 21 else 20},{8 if 17 <= h % 24 < 21 else 40}"
        for h in range(48)
    ]
    path = folder / "sauna.csv"
    path.write_text(SAUNA + "\n".join(rows) + "\n", encoding="utf-8")
    return path


def test_a_sauna_is_a_room(tmp_path):
    record = read_indoor(_sauna(tmp_path, 95)).record
    assert record.temperature.max() == pytest.approx(368.15)
    assert record.repairs == ()


def test_no_room_is_an_oven(tmp_path):
    with pytest.raises(InputError, match="lie outside 180 to 393"):
        read_indoor(_sauna(tmp_path, 180))
