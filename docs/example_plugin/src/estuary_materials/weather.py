"""A climate of the mouth of a river: two sines and showers. A demo."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
from drydown import Climate


def estuary() -> Climate:
    """Return a year by the hour; nothing of it was measured."""
    hours = np.arange(1, 8761)
    year = np.cos(2.0 * np.pi * (hours - 480.0) / 8760.0)  # coldest in late January
    day = np.cos(2.0 * np.pi * (hours - 4.0) / 24.0)  # coldest at four in the morning
    return Climate(
        "estuary",
        latitude=53.0,
        longitude=7.0,
        altitude=2.0,
        utc_offset=1.0,
        time=np.datetime64("2021-01-01T00", "s") + hours * np.timedelta64(3600, "s"),
        temperature=282.15 - 7.0 * year - 2.0 * day,
        humidity=0.84 + 0.04 * year + 0.06 * day,
        wind_speed=5.0 + 2.0 * year,
        wind_direction=np.full(8760, 270.0),
        rain=np.where(hours % 37 < 3, 0.8, 0.0),
        source="estuary_materials: two sines and a shower every 37 hours; demo",
        synthetic=True,
        cyclic=True,  # its year may be repeated
    )


def climates() -> Mapping[str, Callable[[], Climate]]:
    """Return the climates by name."""
    return {"estuary": estuary}
