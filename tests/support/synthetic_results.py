"""Result Datasets made up for tests of criteria: given states at given times, no simulation."""

from __future__ import annotations

import numpy as np
import xarray as xr


def results(
    temperature,
    humidity,
    water=None,
    *,
    hours=1.0,
    layers=("OSB",),
    kinds=("wood",),
    density=650.0,
    full=800.0,
    hygroscopic=200.0,
    start="2021-10-01",
):
    """Cells of 10 mm, one a layer; temperature [degC], humidity [-], water [kg/m3] over (marks,) or (marks, layers)."""
    t = np.atleast_2d(np.asarray(temperature, dtype=float).T).T
    h = np.broadcast_to(np.atleast_2d(np.asarray(humidity, dtype=float).T).T, t.shape)
    w = 100.0 * h if water is None else np.broadcast_to(np.atleast_2d(np.asarray(water, dtype=float).T).T, t.shape)
    n = len(layers)
    t, h, w = (np.broadcast_to(a, (len(a), n)).copy() for a in (t, h, w))
    step = np.broadcast_to(np.asarray(hours, dtype=float), (len(t) - 1,))
    seconds = np.concatenate([[0.0], np.cumsum(step * 3600.0)]).round().astype("timedelta64[s]")
    width = np.full(n, 0.01)
    return xr.Dataset(
        {
            "temperature": (("time", "cell"), t + 273.15),
            "relative_humidity": (("time", "cell"), h),
            "water_content": (("time", "cell"), w),
            "layer_water": (("time", "layer"), w * width),
        },
        {
            "time": (np.datetime64(start, "s") + seconds).astype("datetime64[ns]"),
            "x": ("cell", 0.005 + 0.01 * np.arange(n)),
            "width": ("cell", width),
            "layer_of_cell": ("cell", list(layers)),
            "saturation": ("cell", np.full(n, full)),
            "water_content_at_98": ("cell", np.full(n, hygroscopic)),
            "layer": list(layers),
            "kind_of_layer": ("layer", list(kinds)),
            "density_of_layer": ("layer", np.full(n, density)),
        },
    )
