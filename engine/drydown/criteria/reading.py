"""Reading results for criteria: what stands where, and the states in blocks of marks.

Between two marks the state runs linearly. What is judged of it are spots (`drydown.criteria.spots`). The outer skin,
the first 30 mm of an outermost layer that takes up rain, is wet as a matter of course: criteria of damage to what is
sheltered leave it out. Under roofing, or any film outside that keeps rain out, there is no skin.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ..arrays import Array
from ..errors import InputError
from ..materials.kinds import decline_of, kind_of, mould_class
from .finding import Place

if TYPE_CHECKING:
    import xarray as xr

#: Marks in one block; results do not depend on it.
BLOCK = 2048
#: Depth of the outermost layer that counts as exposed to the weather [m] (our choice).
SKIN = 0.030
#: Attribute of a result in which that part is to be judged like any other.
IN_RAIN = "judged_in_rain"
#: Attribute of the wetted run of a trial that wets that part: titles of what is left to the weather all the same.
LEFT = "left_to_the_weather"
#: Rain taken up in a run from which the surface counts as exposed [kg/m2].
RAIN = 0.01
#: An interval longer than this many usual ones is a gap.
GAP = 1.5
#: The states of faces; results of earlier versions, and some of which little is kept, do not have them.
FACES = ("face_temperature", "face_humidity_outer_side", "face_humidity_inner_side")
NEEDED = ("temperature", "relative_humidity", "water_content", "layer_water")


class Wall(NamedTuple):
    """What does not change: cells from outside to inside, and their layers."""

    names: tuple[str, ...]  # of the layers
    kinds: tuple[str, ...]  # "wood", "panel", "mineral", "insulation", "air", "metal", "ground", "other"
    mould_classes: tuple[str, ...]  # "" where nothing can grow
    declines: tuple[str, ...]  # "wood", "paper" or "": on what mould declines in dry times
    guessed: bool  # the classes are taken from the names of the materials
    density: Array  # [layer] dry, kg/m3; NaN where it is not known
    layer: np.ndarray  # [cell] index of its layer, -1 for the air between two films
    x: Array  # [cell] m from the outer surface
    width: Array  # [cell] m
    saturation: Array  # [cell] kg/m3
    water_content_at_98: Array  # [cell] water content at 98 % relative humidity, kg/m3; NaN where it is not known
    skin: np.ndarray  # [cell] True: exposed to the weather
    rained: tuple[bool, ...]  # masonry and render that rain soaks from outside, layer by layer
    put_in: np.ndarray  # [layer] when water was last put into it, by a wetting or a share of the rain; NaT: never
    critical: Array  # [layer] critical degree of saturation, where the results say it; else NaN
    asked: tuple[bool, ...]  # [layer] False: the case file says that it is not judged
    time: np.ndarray  # [mark] datetime64[s]
    interval: float  # usual interval of the marks, h
    #: [layer, 2] position of its outer and its inner face among the interfaces whose own state is known, -1: it is not
    interface: np.ndarray
    takes_up: tuple[bool, ...]  # [layer] water moves in it as a liquid
    slab: int  # index of the slab or cellar wall in the ground, -1: none; its outer face is a surface of no room

    @property
    def bulk(self) -> tuple[bool, ...]:
        """The layers that water was put into."""
        return tuple((~np.isnat(self.put_in)).tolist())

    @property
    def bonded(self) -> np.ndarray:
        """Which faces lie between masonry, concrete and plaster, shape (layers, 2): no air comes to them."""
        mineral = np.array([k == "mineral" for k in self.kinds])
        both = mineral[1:] & mineral[:-1]
        return np.stack([np.concatenate([[False], both]), np.concatenate([both, [False]])], axis=1)

    @property
    def left_out(self) -> tuple[str, ...]:
        """The layers that are not judged because the case file says so."""
        return tuple(name for name, asked in zip(self.names, self.asked, strict=True) if not asked)

    @property
    def years(self) -> float:
        """Length of the run in years."""
        return float((self.time[-1] - self.time[0]) / np.timedelta64(1, "s")) / (365.2425 * 86400.0)

    def of_kind(self, *kinds: str) -> np.ndarray:
        """Return which cells are of these kinds, shape (cells,)."""
        return np.array([j >= 0 and self.kinds[j] in kinds for j in self.layer])


class Block(NamedTuple):
    """Some marks of a run. The first is the last of the block before, so that every interval is seen once."""

    time: np.ndarray  # [mark] datetime64[s]
    hours: Array  # [mark - 1] length of the intervals, h
    whole: np.ndarray  # [mark - 1] False: a gap, of which nothing is known
    temperature: Array  # [mark, cell] degC
    humidity: Array  # [mark, cell] fraction
    water: Array  # [mark, cell] kg/m3
    layer_water: Array  # [mark, layer] kg/m2
    face_temperature: Array | None = None  # [mark, interface] degC; None: the results do not hold faces
    face_humidity: Array | None = None  # [mark, interface, 2] fraction, on the outer and on the inner side of the face


def read_wall(dataset: xr.Dataset) -> Wall:
    """Return what stands where.

    Raises
    ------
    InputError
        If the Dataset is not a result of `drydown.simulate`, or shorter than two marks.
    """
    for name in (*NEEDED, "width", "layer_of_cell", "layer", "kind_of_layer"):
        if name not in dataset:
            raise InputError(f"'{name}' is missing; criteria read what `drydown run -o` or simulate() gives", "results")
    if dataset.sizes["time"] < 2:
        raise InputError("the results have fewer than two marks; run a longer period", "results")
    names = tuple(str(n) for n in dataset["layer"].values)
    place = [str(n) for n in dataset["layer_of_cell"].values]
    layer = np.array([names.index(n) if n in names else -1 for n in place])
    width = dataset["width"].values.astype(float)

    def texts(key: str) -> list[str]:
        return [str(v) for v in dataset[key].values] if key in dataset else [""] * len(names)

    def numbers(key: str, size: int) -> Array:
        return dataset[key].values.astype(float) if key in dataset else np.full(size, np.nan)

    kinds, classes, of, tags = (texts(f"{k}_of_layer") for k in ("kind", "mould_class", "material", "tags"))
    stated = [bool(c) for c in classes]
    slab = _slab(kinds, of, names, tags, "note_outside_soil" in dataset.attrs)
    for j, name in enumerate(names):
        if j < slab:
            classes[j] = ""
        elif not stated[j]:
            classes[j] = mould_class(f"{of[j] or name}, {tags[j]}", kinds[j])
    edge = np.cumsum(width) - 0.5 * width
    x = dataset["x"].values.astype(float) if "x" in dataset else edge
    rain = rain_taken_up(dataset) > RAIN
    skin = (layer == 0) & (edge < SKIN) & rain & (IN_RAIN not in dataset.attrs)
    time = dataset["time"].values.astype("datetime64[s]")
    steps = np.diff(time) / np.timedelta64(3600, "s")
    if np.any(steps <= 0.0):
        raise InputError("the marks in time are not in order", "results")
    return Wall(
        names,
        tuple(kinds),
        tuple(classes),
        tuple(decline_of(f"{m or n}, {t}", k) for m, n, t, k in zip(of, names, tags, kinds, strict=True)),
        not all(stated),
        numbers("density_of_layer", len(names)),
        layer,
        x,
        width,
        numbers("saturation", len(width)),
        numbers("water_content_at_98", len(width)),
        skin,
        rained(kinds, rain),
        _bulk(dataset, names),
        numbers("critical_saturation_of_layer", len(names)),
        tuple(v != 0.0 for v in numbers("judged_of_layer", len(names))),
        time,
        float(np.median(steps)),
        _interfaces(dataset, names),
        tuple(v == 1.0 for v in numbers("takes_up_water_of_layer", len(names))),
        slab,
    )


def _interfaces(dataset: xr.Dataset, names: Sequence[str]) -> np.ndarray:
    """Return the positions of both faces of every layer among the interfaces of a result; -1 where it has none."""
    found = np.full((len(names), 2), -1)
    if not all(name in dataset for name in (*FACES, "layer_outside_of_interface", "layer_inside_of_interface")):
        return found
    for side, beside in enumerate(("inside", "outside")):
        for k, layer in enumerate(str(n) for n in dataset[f"layer_{beside}_of_interface"].values):
            if layer in names:
                found[names.index(layer), side] = k
    return found


def rained(kinds: Sequence[str], rain: bool) -> tuple[bool, ...]:
    """Return which layers the rain soaks from outside: the masonry and render from the outer surface on."""
    first = next((j for j, kind in enumerate(kinds) if kind != "mineral"), len(kinds))
    return tuple(rain and j < first for j in range(len(kinds)))


def _bulk(dataset: xr.Dataset, names: Sequence[str]) -> np.ndarray:
    """Return when water was last put into each layer, NaT: never.

    A wetting is named after its layer, and so is a share of the rain.
    """
    until = np.full(len(names), np.datetime64("NaT"), dtype="datetime64[s]")
    time = dataset["time"].values.astype("datetime64[s]")
    for labels, amounts in (("wetting", "water_added"), ("load_term", "load_water")):
        if labels not in dataset.coords or amounts not in dataset:
            continue
        put = dataset[amounts].values
        for k, label in enumerate(str(n) for n in dataset[labels].values[: put.shape[1]]):
            if put[-1, k] <= 0.0 or not (labels == "wetting" or "rain" in label):
                continue
            last = time[int(np.argmax(put[:, k] >= put[-1, k]))]
            for j, name in enumerate(names):
                if label.endswith((f": {name}", f"'{name}'")) or name in label:
                    until[j] = last if np.isnat(until[j]) else max(until[j], last)
    return until


def _slab(
    kinds: Sequence[str], of: Sequence[str], names: Sequence[str], tags: Sequence[str], ground: bool = False
) -> int:
    """Return the index of the slab or cellar wall in the ground, -1: there is none.

    It is the first layer of concrete or masonry behind a side that is ground, or behind gravel or sand outside; what
    lies before it is in the ground.
    """
    if not kinds or not (ground or kinds[0] == "ground"):
        return -1
    fine = [kind_of(t.split(", "), m or n) for t, m, n in zip(tags, of, names, strict=True)]
    return next((j for j, kind in enumerate(fine) if kind in ("concrete", "masonry")), -1)


def years_back(wall: Wall) -> np.ndarray:
    """Return for every mark the whole years left to the end of the run, from 1 in the last year on.

    Years are counted back from the end, so that what the start brings counts least; what lies before the first whole
    one gets the number after it.
    """
    year = np.timedelta64(round(365.2425 * 86400), "s")
    number = np.ceil((wall.time[-1] - wall.time) / year - 1e-9).astype(int)
    whole: np.ndarray = np.clip(number, 1, int(wall.years + 0.01) + 1)
    return whole


def rain_taken_up(dataset: xr.Dataset) -> float:
    """Return what the outer surface took up of driving rain over a run [kg/m2]."""
    if "rain_offered" not in dataset or "rain_run_off" not in dataset:
        return 0.0
    ends = [dataset[k].isel(time=[0, -1]).values for k in ("rain_offered", "rain_run_off")]
    return float((ends[0][1] - ends[0][0]) - (ends[1][1] - ends[1][0]))


def exposed(dataset: xr.Dataset) -> list[Place]:
    """Return what of the outermost layer is left to the weather: its outer part, or the whole of a thin one.

    An empty list where nothing is, and where a trial wets that part and so has it judged (`drydown.trial.judging`).

    Parameters
    ----------
    dataset : Dataset
        Of `drydown.simulate`.
    """
    return [] if LEFT in dataset.attrs else in_the_weather(dataset)


def in_the_weather(dataset: xr.Dataset) -> list[Place]:
    """Return what of the outermost layer rain wets, judged there or not.

    Parameters
    ----------
    dataset : Dataset
        Of `drydown.simulate`.
    """
    wall = read_wall(dataset)
    if not wall.skin.any():
        return []
    whole = bool(wall.skin[wall.layer == 0].all())
    return [Place(wall.names[0], what="" if whole else f"outer {1e3 * SKIN:.0f} mm")]


def blocks(dataset: xr.Dataset, wall: Wall, size: int = BLOCK) -> Iterator[Block]:
    """Yield the results in blocks of `size` intervals; from a file only one block is in memory."""
    last = len(wall.time) - 1
    held: Block | None = None
    names = [*NEEDED, *(FACES if np.any(wall.interface >= 0) else ())]
    for first in range(0, last, size):
        stop = min(first + size, last)
        begin = first if held is None else first + 1
        rows = dataset[names].isel(time=slice(begin, stop + 1)).load()
        # a copy of the few rows, so that a lazy file does not keep what was read
        state = [
            rows["temperature"].values - 273.15,
            rows["relative_humidity"].values,
            rows["water_content"].values,
            rows["layer_water"].values,
        ]
        if len(names) > len(NEEDED):
            state.append(rows[FACES[0]].values - 273.15)
            state.append(np.stack([rows[name].values for name in FACES[1:]], axis=2))
        if held is not None:
            before = [kept for kept in held[3:] if kept is not None]
            state = [np.concatenate([old[-1:], new]) for old, new in zip(before, state, strict=True)]
        time = wall.time[first : stop + 1]
        hours = np.diff(time) / np.timedelta64(3600, "s")
        known = np.all(np.isfinite(state[0]) & np.isfinite(state[1]), axis=1)
        whole = (hours <= GAP * wall.interval) & known[1:] & known[:-1]
        held = Block(time, hours, whole, *state)
        yield held
