"""Times with a zone are converted to the local standard time of the climate, or refused; never stripped of it."""

from __future__ import annotations

import datetime
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from drydown import (
    AirStream,
    Assembly,
    Case,
    Chamber,
    Climate,
    Exposure,
    FromOutdoor,
    Indoor,
    InputError,
    Layer,
    Outdoor,
    Wetting,
    material,
    simulate,
)
from drydown.times import local_times, zone_of


def climate(time, utc_offset: float, longitude: float) -> Climate:
    hour = np.arange(len(time)) % 24
    return Climate(
        "demo", 45.0, longitude, 30.0, utc_offset, time, 288.0 + 5.0 * np.sin(hour / 4.0), np.full(len(time), 0.7)
    )


ZONES = {
    "Etc/GMT+9": (-9.0, -135.0),
    "UTC": (0.0, 0.0),
    "Europe/Berlin": (1.0, 13.0),  # with daylight saving: standard time comes out all the same
    "Asia/Kolkata": (5.5, 77.0),
    "Asia/Kathmandu": (5.75, 85.0),
    "Australia/Adelaide": (9.5, 138.0),
    "America/St_Johns": (-3.5, -52.0),
}


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("as_what", ["index", "series", "list", "strings"])
def test_an_aware_index_is_converted(zone, as_what):
    offset, longitude = ZONES[zone]
    naive = pd.date_range("2022-06-01 01:00", periods=72, freq="1h")
    instant = (naive - pd.Timedelta(hours=offset)).tz_localize("UTC")
    aware = instant.tz_convert(zone)
    made = {
        "index": aware,
        "series": pd.Series(aware),
        "list": list(aware.to_pydatetime()),
        "strings": [t.isoformat() for t in aware],
    }[as_what]
    assert climate(made, offset, longitude) == climate(naive.to_numpy(), offset, longitude)


def test_a_zone_that_does_not_fit_the_offset_by_half_an_hour_is_refused():
    aware = pd.date_range("2022-06-01 01:00", periods=48, freq="1h", tz="Asia/Kolkata")
    with pytest.raises(InputError, match=r"zone Asia/Kolkata, end 30 minutes past the hour at utc_offset \+5 h"):
        climate(aware, 5.0, 77.0)


def test_a_case_is_the_same_with_aware_times():
    naive = pd.date_range("2022-06-01 01:00", periods=24 * 12, freq="1h")
    aware = naive.tz_localize("Etc/GMT+9")
    wall = Assembly((Layer(material("spruce"), 0.02), Layer(material("mineral wool"), 0.1)))

    def made(time, start, end):
        return Case(wall, Outdoor(climate(time, -9.0, -135.0), Exposure()), Indoor(FromOutdoor()), start, end)

    plain = made(naive.to_numpy(), np.datetime64("2022-06-02T06"), np.datetime64("2022-06-05T06"))
    zoned = made(aware, pd.Timestamp("2022-06-02T06", tz="Etc/GMT+9"), "2022-06-05T15:00:00+00:00")
    assert zoned == plain
    assert simulate(zoned).equals(simulate(plain))
    place = plain.outside.climate
    noon = datetime.datetime(2022, 6, 3, 21, tzinfo=datetime.UTC)
    assert place.local(noon) == np.datetime64("2022-06-03T12", "s") == place.local("2022-06-03T12")
    event = Wetting("spruce", 0.1, place.local(noon))
    assert replace(zoned, wettings=(event,)).wettings[0].start == np.datetime64("2022-06-03T12", "s")


@pytest.mark.parametrize(
    "time", ["2022-01-01T00:00:00Z", "2022-01-01T00:00+01:00", pd.Timestamp("2022-01-01", tz="UTC")]
)
def test_where_nothing_tells_the_zone_it_is_refused(time):
    with pytest.raises(InputError, match="wetting of 'wool', start: it has a time zone") as caught:
        Wetting("wool", 0.1, time)
    assert "climate.local" in str(caught.value) and "\n" not in str(caught.value)
    air = Chamber(293.15, 0.5)
    with pytest.raises(InputError, match="period, start: it has a time zone"):
        Case(Assembly((Layer(material("spruce"), 0.02),)), air, air, time, np.datetime64("2022-02-01"))
    with pytest.raises(InputError, match="air stream, points: it has a time zone"):
        AirStream(((time, 1e-4),))


def test_what_has_a_zone_and_what_has_none():
    aware = datetime.datetime(2022, 1, 1, tzinfo=datetime.UTC)
    for given, zone in (
        ("2022-01-15", ""),
        ("2022-01-15T06", ""),
        ("2022-01-15T06:00", ""),
        ("2022-01-15T06:00Z", "Z"),
        ("2022-01-15 06:00:00+0530", "+0530"),
        (aware, "UTC"),
        (aware.replace(tzinfo=None), ""),
        (np.datetime64("2022-01-15"), ""),
        ([aware, aware], "UTC"),
        ([], ""),
    ):
        assert zone_of(given) == zone, given
    with pytest.raises(InputError, match="some times have a zone and some have none"):
        local_times([aware, aware.replace(tzinfo=None)], 0.0, "here")
    with pytest.raises(InputError, match="here: it cannot be read as a date"):
        local_times("soon", 0.0, "here")
