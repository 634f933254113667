"""A script of a user: weather and room from tables, a wall edited by name, a run, and what comes out of it.

All data are invented. `tests/unit/test_tour.py` runs it in an empty folder and has its types checked.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import xarray as xr
from drydown import (
    Assembly,
    Case,
    Climate,
    Exposure,
    Film,
    Indoor,
    Initial,
    InputError,
    Keep,
    Layer,
    Measured,
    Outdoor,
    Wetting,
    assess,
    film,
    material,
    open_result,
    simulate,
)


def logged(minutes: int, days: int) -> pd.DataFrame:
    """Return a logger's table: stamps in UTC at the start of each row."""
    stamps = pd.date_range("2023-01-31 23:00", periods=days * 24 * 60 // minutes, freq=f"{minutes}min", tz="UTC")
    hour = np.arange(len(stamps)) * minutes / 60.0
    table = {
        "T_out": 2.0 + 4.0 * np.sin(2.0 * np.pi * (hour - 9.0) / 24.0),
        "RH_out": 85.0 - 8.0 * np.sin(2.0 * np.pi * (hour - 9.0) / 24.0),
        "sun": np.maximum(0.0, 300.0 * np.sin(2.0 * np.pi * (hour - 7.0) / 24.0)),
        "rain": np.where(hour % 50.0 < 2.0, 0.1, 0.0),
    }
    return pd.DataFrame(table, index=stamps)


def main() -> dict[str, float]:
    """Take the tour; return a few numbers of it."""
    table = logged(10, 15)
    yard = Climate.from_dataframe(
        table,
        name="library yard",
        latitude=59.0,
        longitude=21.0,
        utc_offset=1.0,
        columns={"T_out": "temperature", "RH_out": "humidity", "sun": "diffuse_horizontal", "rain": "rain"},
        units={"T_out": "degC", "RH_out": "%", "sun": "W/m2", "rain": "mm"},
        stamp="start",
    )
    room_table = xr.Dataset(
        {
            "temperature": ("time", np.full(15 * 24, 20.5), {"units": "degC"}),
            "humidity": ("time", np.full(15 * 24, 42.0), {"units": "%"}),
        },
        {"time": pd.date_range("2023-02-01 01:00", periods=15 * 24, freq="1h")},
    )
    room = Measured.from_dataframe(room_table, name="reading room")

    wall = Assembly(
        (
            Layer(material("spruce"), 0.02, "cladding"),
            Layer(material("OSB"), 0.011),
            Layer(material("dense cellulose"), 0.14, "insulation"),
            film("polyamide film 0.05 mm"),
            Layer(material("gypsum board"), 0.0125),
        ),
        "demo wall",
    )
    paper = Film("demo paper", 4e-10)  # a number is a constant
    wall = wall.replace("polyamide film 0.05 mm", paper).with_thickness("insulation", 0.2)
    wall = wall.insert(Layer(material("spruce"), 0.02, "batten"), before="demo paper").remove("batten")

    start = np.datetime64("2023-02-01T01")
    case = Case(
        wall,
        Outdoor(yard, Exposure(azimuth=180.0)),
        Indoor(room),
        start,
        start + np.timedelta64(10, "D"),
        wettings=(Wetting("OSB", 0.2, start + np.timedelta64(1, "D")),),
        name="demo case",
    )
    print(case)
    results = simulate(case, path="wall.nc", keep=Keep(every=1800.0, faces=True, compression=4))
    results.close()

    with open_result("wall.nc") as kept:
        inner = kept.drydown.at("OSB", "inner")
        deep: xr.Dataset = kept.drydown.at(depth=0.1)
        surface = kept.drydown.at(face="inner surface")
        terms: xr.Dataset = kept.drydown.budget()
        again: Case = kept.drydown.case()
        profile = kept.drydown.profile()
        thicker = simulate(Case(
            wall.with_thickness("insulation", 0.3), again.outside, again.inside, again.end,
            again.end + np.timedelta64(2, "D"), initial=Initial(profile=profile),
        ))  # fmt: skip
        depths = np.linspace(0.0, 0.24, 25)
        both = xr.concat(
            [kept.drydown.on_depths(depths).isel(time=-1), thicker.drydown.on_depths(depths).isel(time=0)], "wall"
        )
        monthly = inner["relative_humidity"].resample(time="1D").mean()
        findings = assess(thicker, limits={"wood_moisture": 0.18})
        numbers = {
            "same case": float(again == case),
            "wettest": float(inner["relative_humidity"].max()),
            "deep": float(deep["temperature"].mean()),
            "left open": float(np.abs(terms["left_open"]).max()),
            "vapour to the room": float(surface["vapour_passed"][-1]),
            "permeance": float(kept["film_permeance"][-1, 0]),
            "walls": float(both.sizes["wall"]),
            "days": float(monthly.sizes["time"]),
            "findings": float(len(findings)),
        }
    try:
        wall.replace("vapour control", paper)
    except InputError as error:
        print(error)
    return numbers


if __name__ == "__main__":
    print(main())
