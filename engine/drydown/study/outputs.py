"""What a study keeps of every case: numbers of a trial or a run, criteria, monthly series, histories."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from ..case.case import Case
from ..criteria.model import VERDICTS
from ..errors import InputError, nearest, renamed
from .functions import number_of
from .observe import Array, Run, cells_at

if TYPE_CHECKING:
    import xarray as xr

    from ..criteria import Finding


class Kind(NamedTuple):
    """One thing that can be kept: from which run, over which extra dimension, its unit and keys."""

    source: str  # "trial", "run" or "criterion"
    dimension: str  # "" or "month" or "time"
    unit: str
    about: str
    keys: tuple[str, ...] = ()


_PLACE = ("layer", "place")
KINDS: dict[str, Kind] = {
    "days_to_50_percent_dry": Kind("trial", "", "days", "days until half of the wetting has left"),
    "days_to_90_percent_dry": Kind("trial", "", "days", "days until nine tenths of the wetting have left"),
    "share_inward": Kind("trial", "", "1", "share of what left that left inward"),
    "share_outward": Kind("trial", "", "1", "share of what left that left outward"),
    "remaining": Kind("trial", "", "1", "share of the wetting still there at the end"),
    "final_water": Kind("run", "", "kg m-2", "water at the end", ("layer",)),
    "maximum_water": Kind("run", "", "kg m-2", "greatest water", ("layer",)),
    "mean_water": Kind("run", "", "kg m-2", "mean water", ("layer",)),
    "water_gain": Kind("run", "", "kg m-2", "water at the end less that at the start", ("layer",)),
    "final_humidity": Kind("run", "", "1", "relative humidity at the end", _PLACE),
    "mean_humidity": Kind("run", "", "1", "mean relative humidity", _PLACE),
    "maximum_humidity": Kind("run", "", "1", "greatest relative humidity", _PLACE),
    "minimum_temperature": Kind("run", "", "K", "lowest temperature", _PLACE),
    "maximum_temperature": Kind("run", "", "K", "highest temperature", _PLACE),
    "hours_above": Kind("run", "", "h", "hours above a humidity", (*_PLACE, "humidity", "above")),
    "criterion": Kind("criterion", "", "", "value of a criterion of damage", ("criterion", "layer")),
    "monthly_water": Kind("run", "month", "kg m-2", "monthly mean of the water", ("layer",)),
    "monthly_humidity": Kind("run", "month", "1", "monthly mean of the relative humidity", _PLACE),
    "monthly_temperature": Kind("run", "month", "K", "monthly mean of the temperature", _PLACE),
    "history_water": Kind("run", "time", "kg m-2", "water", ("layer", "every")),
    "history_humidity": Kind("run", "time", "1", "relative humidity", (*_PLACE, "every")),
    "history_temperature": Kind("run", "time", "K", "temperature", (*_PLACE, "every")),
}
#: Kinds that had another name until version 0.1: old, new. They still work, with a word.
RENAMED = {"days_to_half": "days_to_50_percent_dry", "days_to_tenth": "days_to_90_percent_dry"}


@dataclass(frozen=True)
class Output:
    """One thing to keep of every case.

    Parameters
    ----------
    of : str or callable
        One of `KINDS`, or a function of the Dataset of the run (`drydown.simulate`) that returns a number; with
        `name`, `unit` and `about`.
    layer : str
        Name of the layer; the water kinds take the whole assembly without it, a criterion its worst place.
    place : {'whole', 'outer', 'inner'}
        All cells of the layer (see Notes), or the one at its outer or inner face.
    humidity : float
        Threshold of "hours_above" [-].
    above : float
        "hours_above" counts hours at which it is at least this warm [K].
    criterion : str
        Name of the criterion.
    every : int
        Hours between the kept values of a history.
    name : str
        Name in the result; made of the others where it is empty.
    unit, about : str
        Of what a function returns: its unit, in the notation of CF, and what it is.

    Notes
    -----
    Over a whole layer the humidity is that of its most humid cell at each hour and the temperature that of
    its coldest cell (of its warmest for "maximum_temperature").

    Raises
    ------
    InputError
        For an unknown kind or a key that does not fit it.
    """

    of: str | Callable[[xr.Dataset], float]
    layer: str = ""
    place: str = "whole"
    humidity: float = 0.8
    above: float = 273.15
    criterion: str = ""
    every: int = 1
    name: str = ""
    unit: str = ""
    about: str = ""

    def __post_init__(self) -> None:
        if not isinstance(self.of, str):
            self._of_function()
            return
        today = next(iter(renamed({self.of: None}, RENAMED, f"output '{self.of}'")))
        object.__setattr__(self, "of", today)
        if self.of not in KINDS:
            raise InputError(f"nothing is called '{self.of}'; {nearest(self.of, KINDS)}", "output")
        where = f"output '{self.of}'"
        if self.place not in ("whole", "outer", "inner"):
            raise InputError(f"place is '{self.place}'; use 'whole', 'outer' or 'inner'", where)
        if "place" in self.kind.keys and not self.layer:
            raise InputError('it needs a layer, such as layer = "OSB"', where)
        if self.of == "criterion" and not self.criterion:
            raise InputError('it needs the name of one, such as criterion = "mould"', where)
        if not 0.0 < self.humidity < 1.0:
            raise InputError(f"humidity is {self.humidity:g}; it must lie between 0 and 1", where)
        if self.above and not 200.0 < self.above < 400.0:
            raise InputError(
                f"above is {self.above:g} K; {self.above:g} degC is {self.above + 273.15:g}, and 0 counts at any", where
            )
        if self.every < 1:
            raise InputError(f"every is {self.every}; at least 1 hour is needed", where)
        if not self.name:
            words = [self.criterion if self.of == "criterion" else self.of, self.layer]
            words += [self.place] if self.place != "whole" else []
            words += [f"{100 * self.humidity:g}"] if self.of == "hours_above" else []
            object.__setattr__(self, "name", "_".join(re.sub(r"[^\w]+", "_", w) for w in words if w))
        if not re.fullmatch(r"[^\W\d]\w*", self.name):
            raise InputError(f"'{self.name}' is no name; use letters, digits and _", where)

    def _of_function(self) -> None:
        """Check an output that is a function of the Dataset, and name it after it."""
        if not callable(self.of):
            raise InputError(f"of is {self.of!r}; a name, or a function of the Dataset is needed", "output")
        if not self.name:
            object.__setattr__(self, "name", getattr(self.of, "__name__", ""))
        if not re.fullmatch(r"[^\W\d]\w*", self.name):
            raise InputError(f"'{self.name}' is no name; give the output a name = of letters, digits and _", "output")
        for key, default in (("layer", ""), ("criterion", ""), ("place", "whole")):
            if getattr(self, key) != default:
                raise InputError(f"a function takes no {key}; it reads what it needs", f"output '{self.name}'")

    @property
    def word(self) -> str:
        """What it is, by name; empty for a function."""
        return self.of if isinstance(self.of, str) else ""

    @property
    def kind(self) -> Kind:
        """The row of the table, or one like it for a function."""
        if isinstance(self.of, str):
            return KINDS[self.of]
        return Kind("function", "", self.unit, self.about or self.name)


def check_criteria(outputs: Sequence[Output]) -> None:
    """Raise InputError for a criterion that is not installed, with the nearest names."""
    from ..plugins import criterion

    for output in outputs:
        if output.criterion:
            criterion(output.criterion, f"output '{output.name}', criterion")


class Field(NamedTuple):
    """One variable of the result: dimensions beside the case, type, attributes."""

    dimensions: tuple[str, ...]
    dtype: str
    attributes: dict[str, Any]


def fields(outputs: Sequence[Output]) -> dict[str, Field]:
    """Return the variables that outputs make, by name."""
    out: dict[str, Field] = {}
    for o in outputs:
        k = o.kind
        about = k.about
        if o.word == "hours_above":
            about = f"hours above {100 * o.humidity:g} % relative humidity"
            if o.above > 0.0:
                about += f" at {o.above - 273.15:g} degC or more"
        if o.word == "criterion":
            about = f"criterion '{o.criterion}', worst place"
        where = f", {o.layer}" if o.layer else ""
        where += {"outer": ", outer face", "inner": ", inner face"}.get(o.place, "")
        made = {o.name: Field(_dims(o), "f8", {"long_name": about + where, "units": _unit(o)})}
        if o.word == "criterion":
            made[f"{o.name}_verdict"] = Field(
                (),
                "i1",
                {
                    "long_name": f"verdict of '{o.criterion}'" + where,
                    "flag_values": np.arange(len(VERDICTS), dtype=np.int8),
                    "flag_meanings": " ".join(v.replace(" ", "_") for v in VERDICTS),
                },
            )
        for name, field in made.items():
            if name in out:
                raise InputError(f"two outputs are called '{name}'; give one a name of its own", "outputs")
            out[name] = field
    return out


def _dims(o: Output) -> tuple[str, ...]:
    if o.kind.dimension != "time":
        return (o.kind.dimension,) if o.kind.dimension else ()
    return ("time",) if o.every == 1 else (f"time_{o.every}h",)


def _unit(o: Output) -> str:
    if o.word != "criterion":
        return o.kind.unit
    from ..plugins import criterion

    unit = str(getattr(criterion(o.criterion), "unit", "1"))
    return {"index": "1", "fraction": "1", "h/a": "h year-1", "1/a": "year-1", "kg/m2": "kg m-2"}.get(
        unit, "kg m-2 year-1" if unit == "kg/(m2 a)" else unit
    )


def kept_marks(case: Case) -> Array:
    """Return the marks that a run keeps, datetime64[s]."""
    every = round(case.numerics.output_every / 3600.0)
    marks = case.marks
    keep = np.arange(len(marks)) % every == 0
    keep[-1] = True
    found: Array = marks[keep]
    return found


def coordinates(outputs: Sequence[Output], case: Case) -> dict[str, Array]:
    """Return the extra coordinates of the result, datetime64[ns], by dimension, from a case like all others."""
    out: dict[str, Array] = {}
    time = kept_marks(case)
    for o in outputs:
        for dim in _dims(o):
            if dim == "month":
                out[dim] = np.unique(time[:-1].astype("datetime64[M]")).astype("datetime64[ns]")
            else:
                out[dim] = time[:: o.every].astype("datetime64[ns]")
    return out


def cells_read(outputs: Sequence[Output], run: Run) -> tuple[Array, Array]:
    """Return the cells of which outputs of a run read humidity or temperature, and those of which they read water."""
    found = []
    for water in (False, True):
        cells = [_cells(o, run) for o in outputs if _of_water(o) is water]
        found.append(np.unique(np.concatenate(cells)) if cells else np.zeros(0, dtype=np.int64))
    return found[0], found[1]


def _of_water(o: Output) -> bool:
    return o.word.endswith("water") or o.word == "water_gain"


def _cells(o: Output, run: Run) -> Array:
    """Return the cells that an output reads; the water may be that of the whole assembly."""
    if _of_water(o):
        return cells_at(run, o.layer) if o.layer else np.arange(len(run.layer_of_cell))
    return cells_at(run, o.layer, o.place)


def sources(outputs: Sequence[Output]) -> set[str]:
    """Return which runs the outputs need."""
    return {o.kind.source for o in outputs}


def read(
    outputs: Sequence[Output],
    run: Run | None,
    trial: xr.Dataset | None,
    findings: Mapping[str, Finding],
    dataset: xr.Dataset | None = None,
) -> dict[str, Any]:
    """Return the values of the outputs of one case, by name."""
    out: dict[str, Any] = {}
    for o in outputs:
        if o.kind.source == "trial":
            assert trial is not None
            out[o.name] = float(trial.attrs[o.word])
        elif callable(o.of):
            assert dataset is not None
            out[o.name] = number_of(o.of, dataset)
        elif o.kind.source == "criterion":
            out |= _finding(o, findings[o.criterion])
        else:
            assert run is not None
            out[o.name] = _of_run(o, run)
    return out


def _finding(o: Output, found: Finding) -> dict[str, Any]:
    value, verdict = found.value, found.verdict
    if o.layer:
        mine = [r for r in found.by_layer if r.layer == o.layer]
        value, verdict = (mine[0].value, mine[0].verdict) if mine else (np.nan, "not applicable")
    return {o.name: float(value), f"{o.name}_verdict": VERDICTS.index(verdict)}


def _series(o: Output, run: Run) -> Array:
    """Return the quantity of an output at every mark, shape (n,)."""
    cells = _cells(o, run)
    if _of_water(o):
        return run.water(cells)
    found: Array
    if o.word.endswith("temperature"):
        t = run.temperature(cells)
        found = t.max(axis=1) if o.word == "maximum_temperature" else t.min(axis=1)
        return found
    found = run.humidity(cells).max(axis=1)
    return found


def _of_run(o: Output, run: Run) -> Any:
    hours = (run.time[1:] - run.time[:-1]) / np.timedelta64(3600, "s")
    if o.word == "hours_above":
        cells = cells_at(run, o.layer, o.place)
        beyond = (run.humidity(cells)[1:] > o.humidity) & (run.temperature(cells)[1:] >= o.above)
        return float(np.sum(hours * beyond.any(axis=1)))
    x = _series(o, run)
    if o.word.startswith("history"):
        return x[:: o.every]
    middle = 0.5 * (x[1:] + x[:-1])
    if o.word.startswith("monthly"):
        month = run.time[:-1].astype("datetime64[M]")
        names, index = np.unique(month, return_inverse=True)
        return np.bincount(index, middle * hours, len(names)) / np.bincount(index, hours, len(names))
    if o.word.startswith("final"):
        return float(x[-1])
    if o.word.startswith("mean"):
        return float(np.sum(middle * hours) / np.sum(hours))
    if o.word == "water_gain":
        return float(x[-1] - x[0])
    return float(x.min() if o.word.startswith("minimum") else x.max())
