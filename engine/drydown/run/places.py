"""Courses at a place of a result, profiles on common depths, and the budget of a wall's water."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from ..arrays import Array
from ..errors import InputError, nearest, need_number, shown

if TYPE_CHECKING:
    import xarray as xr

Where = Literal["outer", "middle", "inner", "mean"]
PLACES = ("outer", "middle", "inner", "mean")


def _needs(data: xr.Dataset, name: str) -> None:
    if name not in data:
        raise InputError(f"'{name}' is missing; use what drydown.simulate gives", "results")


def _state(data: xr.Dataset) -> list[str]:
    """Return the variables over time and cells."""
    return [str(n) for n, v in data.data_vars.items() if v.dims == ("time", "cell")]


def at(
    data: xr.Dataset,
    layer: str = "",
    place: Where = "middle",
    *,
    depth: float | None = None,
    face: str = "",
) -> xr.Dataset:
    """Return the courses at one place.

    Parameters
    ----------
    data : Dataset
        Of `drydown.simulate`.
    layer : str
        Name of a layer.
    place : {'outer', 'middle', 'inner', 'mean'}
        Of the layer: the cell at its outer or inner face, its middle, or the mean over its thickness.
    depth : float, optional
        Instead of a layer: distance from the outer surface [m].
    face : str, optional
        Instead of a layer: a name of `interface`, such as ``"inner face of OSB"``.

    Returns
    -------
    Dataset
        Dimension `time`. At a layer or a depth: temperature, humidity, water content (and ice, where there is some),
        with the scalar coordinates `x` [m] and `layer_of_cell`; a depth lies between the centres of the cells of its
        layer and is read linearly. At a face: its own state (`face_temperature`, `face_humidity_outer_side`,
        `face_humidity_inner_side`, where they were kept), what passed it, and the state of the cells on both sides
        (`outer_...`, `inner_...`).

    Raises
    ------
    InputError
        If nothing has that name, the depth lies outside the wall, or none or several of the three are given.
    """
    _needs(data, "layer_of_cell")
    if sum((bool(layer), depth is not None, bool(face))) != 1:
        raise InputError("give one of: a layer and a place, depth=0.02, face='outer surface'", "at")
    if face:
        return _at_face(data, face)
    if depth is not None:
        need_number(depth, "depth", "at", "m")
        found = on_depths(data, [float(depth)]).isel(depth=0)
        return found.rename({"depth": "x", "layer_of_depth": "layer_of_cell"})
    cells = cells_of(data, layer)
    if place not in PLACES:
        raise InputError(f"place is {shown(place)}; use 'outer', 'middle', 'inner' or 'mean'", "at")
    if place == "middle":
        edges = np.concatenate([[0.0], np.cumsum(data["width"].values)])
        return at(data, depth=0.5 * float(edges[cells[0]] + edges[cells[-1] + 1]))
    if place == "mean":
        share = data["width"][cells] / float(data["width"][cells].sum())
        out = (data[_state(data)].isel(cell=cells) * share).sum("cell", keep_attrs=True)
        for name in _state(data):
            out[name].attrs = {**data[name].attrs, "cell_methods": f"mean over the thickness of '{layer}'"}
        return out.assign_coords(layer_of_cell=layer)
    one = data[_state(data)].isel(cell=int(cells[0 if place == "outer" else -1]))
    return _bare(one, ("x", "width", "layer_of_cell"))


def cells_of(data: xr.Dataset, layer: str) -> np.ndarray:
    """Return the cells of a layer.

    Raises
    ------
    InputError
        If no layer has that name.
    """
    names = [str(n) for n in data["layer"].values]
    if layer not in names:
        raise InputError(f"no layer is called {shown(layer)}; {nearest(str(layer), names)}", "at")
    return np.flatnonzero(data["layer_of_cell"].values == layer)


def _bare(data: xr.Dataset, kept: Sequence[str]) -> xr.Dataset:
    """Return a Dataset without coordinates that say nothing here."""
    return data.drop_vars([n for n in data.coords if n not in (*kept, "time", *data.dims)])


def _at_face(data: xr.Dataset, face: str) -> xr.Dataset:
    names = [str(n) for n in data["interface"].values]
    if face not in names:
        raise InputError(f"no face is called {shown(face)}; {nearest(str(face), names)}", "at")
    one = data[[n for n, v in data.data_vars.items() if "interface" in v.dims]].sel(interface=face)
    edges = {"outer surface": 0, "inner surface": data.sizes["cell"]}
    edge = edges[face] if face in edges else int(cells_of(data, face.removeprefix("inner face of "))[-1]) + 1
    for side, cell in (("outer", edge - 1), ("inner", edge)):
        if 0 <= cell < data.sizes["cell"]:
            for name in _state(data):
                beside = data[name].isel(cell=cell)
                words = {**beside.attrs, "long_name": f"{beside.attrs['long_name']}, cell on the {side} side"}
                one[f"{side}_{name}"] = ("time", beside.values, words)
    x = float(np.concatenate([[0.0], np.cumsum(data["width"].values)])[edge])
    named = ("interface", "layer_outside_of_interface", "layer_inside_of_interface", "film_of_interface")
    return _bare(one, named).assign_coords(x=((), x, {"units": "m"}))


def on_depths(data: xr.Dataset, depths: Any) -> xr.Dataset:
    """Return the states of a result on depths of one's own, so that walls of other cells can be put side by side.

    Parameters
    ----------
    data : Dataset
        Of `drydown.simulate`.
    depths : array_like
        Distances from the outer surface [m]; on a face, the layer inside of it is read.

    Returns
    -------
    Dataset
        The variables over time and cells, with the dimension `depth` in place of `cell`, linear between the centres of
        the cells of a layer; `layer_of_depth`. Not a number where a wall is thinner.

    Raises
    ------
    InputError
        If no depth lies in the wall, or one is no number.
    """
    import xarray as xr

    _needs(data, "layer_of_cell")
    try:
        wanted = np.atleast_1d(np.asarray(depths, dtype=float))
    except (TypeError, ValueError):
        raise InputError(f"depths is {shown(depths)}; numbers in metres are needed", "depths") from None
    x, names = data["x"].values, data["layer_of_cell"].values.astype(str)
    edges = np.concatenate([[0.0], np.cumsum(data["width"].values)])
    total = float(edges[-1])
    inside = (wanted >= 0.0) & (wanted <= total * (1.0 + 1e-12))
    if not inside.any():
        raise InputError(f"{wanted[0]:g} m lies outside the wall, which is {total:.4g} m thick", "depths")
    home = np.clip(np.searchsorted(edges, wanted, side="right") - 1, 0, len(x) - 1)
    left, right, share = home.copy(), home.copy(), np.zeros(len(wanted))
    for k, (depth, cell) in enumerate(zip(wanted, home, strict=True)):
        beside = cell + (1 if depth > x[cell] else -1)
        if 0 <= beside < len(x) and names[beside] == names[cell] and depth != x[cell]:
            right[k] = beside
            share[k] = (depth - x[cell]) / (x[beside] - x[cell])
    out = {}
    for name in _state(data):
        values: Array = data[name].values
        read = values[:, left] * (1.0 - share) + values[:, right] * share
        out[name] = (("time", "depth"), np.where(inside, read, np.nan), data[name].attrs)
    words = {"units": "m", "long_name": "distance from the outer surface", "positive": "down"}
    layers = np.where(inside, names[home], "")
    coords = {"time": data["time"], "depth": ("depth", wanted, words), "layer_of_depth": ("depth", layers)}
    kept = {k: data.attrs[k] for k in ("Conventions", "title", "source", "case", "assembly") if k in data.attrs}
    return xr.Dataset(out, coords, kept)


def budget(data: xr.Dataset) -> xr.Dataset:
    """Return the terms of the budget of a wall's water since the start.

    Parameters
    ----------
    data : Dataset
        Of `drydown.simulate`.

    Returns
    -------
    Dataset
        [kg m-2] over time: `stored` (growth), `from_outside` and `from_inside` (vapour, liquid and what air carries
        through each surface, positive into the wall), `wettings`, `loads`, and `left_open`, what they leave open.

    Raises
    ------
    InputError
        If a variable that it needs was not kept.
    """
    import xarray as xr

    passed = [f"{what}_passed" for what in ("vapour", "liquid", "convected_vapour")]
    for name in ("water_content", *passed, "water_added", "load_water"):
        _needs(data, name)
    held = (data["water_content"].values * data["width"].values).sum(axis=1)
    through = np.sum([data[name].values for name in passed], axis=0)
    terms = {
        "stored": (held - held[0], "growth of the water in the wall"),
        "from_outside": (through[:, 0], "water that came in through the outer surface"),
        "from_inside": (-through[:, -1], "water that came in through the inner surface"),
        "wettings": (data["water_added"].values.sum(axis=1), "water added by wettings"),
        "loads": (data["load_water"].values.sum(axis=1), "water brought in by loads"),
    }
    brought = np.sum([value for name, (value, _) in terms.items() if name != "stored"], axis=0)
    terms["left_open"] = (terms["stored"][0] - brought, "what the budget leaves open")
    return xr.Dataset(
        {name: ("time", value, {"units": "kg m-2", "long_name": words}) for name, (value, words) in terms.items()},
        {"time": data["time"]},
        {"title": data.attrs.get("title", "")},
    )
