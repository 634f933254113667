"""How strongly profiles bend inside their layers, hour by hour: what a mesh is made from (see `lowering.pilot`)."""

from __future__ import annotations

from .jit import compiled


@compiled(_nrt=False, no_cpython_wrapper=False)
def squared_bends(bounds, per, phi, temperature, water, small, out, greatest):
    """Fill squared bends of every cell: sums over rows in out, (2, cell), and the greatest of humidity.

    bounds : first and last cell of each layer, (layer, 2); per : one over the width of each cell, one over the distance
    to the middle of the cell after it, and of the one before, two over the sum of both distances, (4, cell) [1/m]; phi,
    temperature [K], water [kg/m2] : (row, cell); small : humidity and temperature that a bend is measured by. The first
    row of out is of humidity, the second of temperature; a cell at a face gets what the one next to it has.

    Notes
    -----
    A line across a cell of width h errs by h^2/8 times the second derivative. What a cell stores is its water: where
    storage is curved the line through the water errs more than that through the humidity, by w'' over the slope of
    storage, yet by no more than the humidity of the neighbours differs.
    """
    out[:] = 0.0
    greatest[:] = 0.0
    per_phi = 1.0 / small[0]
    per_temperature = 1.0 / small[1]
    for k in range(bounds.shape[0]):
        first = bounds[k, 0]
        last = bounds[k, 1]
        if last - first < 2:
            continue
        for r in range(phi.shape[0]):
            for i in range(first + 1, last):
                left = per[2, i]
                right = per[1, i]
                both = per[3, i]
                rise = phi[r, i] - phi[r, i - 1]
                further = phi[r, i + 1] - phi[r, i]
                held = water[r, i] * per[0, i]
                soak = held - water[r, i - 1] * per[0, i - 1]
                soaking = water[r, i + 1] * per[0, i + 1] - held
                storage = min(abs(soak) / max(abs(rise), 1e-6), abs(soaking) / max(abs(further), 1e-6))
                most = 8.0 * max(abs(rise), abs(further)) * left * right
                humid = abs(both * (further * right - rise * left))
                by_water = abs(both * (soaking * right - soak * left)) / max(storage, 1e-3)
                humid = max(humid, min(by_water, most)) * per_phi
                t = temperature[r, i]
                warm = both * ((temperature[r, i + 1] - t) * right - (t - temperature[r, i - 1]) * left)
                warm *= per_temperature
                out[0, i] += humid * humid
                out[1, i] += warm * warm
                greatest[i] = max(greatest[i], humid * humid)
        for s in range(2):
            out[s, first] = out[s, first + 1]
            out[s, last] = out[s, last - 1]
        greatest[first] = greatest[first + 1]
        greatest[last] = greatest[last - 1]
