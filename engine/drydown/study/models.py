"""What a study evaluates at every point: a case with its outputs, or any function."""

from __future__ import annotations

import copy
import os
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Protocol

import numpy as np

from ..arrays import Array
from ..case.case import Case
from ..casefile import files_of
from ..casefile.paths import Document, Place, put, resolve
from ..errors import InputError
from . import fingerprint, identity, outputs
from .axes import Axis
from .drawn import Drawn
from .evaluating import evaluate_case
from .functions import FunctionFailed, called
from .made import MADE
from .outputs import Field, Output

Point = Mapping[str, Any]


class Model(Protocol):
    """What a study evaluates."""

    def fields(self) -> dict[str, Field]:
        """Return the variables of the result by name."""
        ...

    def coordinates(self) -> dict[str, Array]:
        """Return the coordinates of the extra dimensions."""
        ...

    def evaluate(self, point: Point) -> Mapping[str, Any]:
        """Return the values at a point, the name of each axis to its value."""
        ...

    def inputs(self) -> dict[str, str]:
        """Return hashes of all that the values depend on, by name."""
        ...

    def check(self, points: Sequence[tuple[str, Point]]) -> None:
        """Raise InputError where a point cannot be read, with the words that come with it; nothing is run."""
        ...


@dataclass(frozen=True)
class FunctionModel:
    """A plain function of the axes.

    Parameters
    ----------
    function : callable
        Takes the axes as keyword arguments; returns a number, or a mapping of names to numbers.
    names : tuple of str
        What it returns.
    """

    function: Callable[..., Any]
    names: tuple[str, ...] = ("value",)

    def __post_init__(self) -> None:
        if isinstance(self.names, str):
            raise InputError(f"it is no tuple of names; write ('{self.names}',)", "names")

    def fields(self) -> dict[str, Field]:
        """Return the variables of the result by name."""
        return {name: Field((), "f8", {"long_name": name}) for name in self.names}

    def coordinates(self) -> dict[str, Array]:
        """Return no coordinates."""
        return {}

    def evaluate(self, point: Point) -> Mapping[str, Any]:
        """Return the values at a point.

        Parameters
        ----------
        point : mapping
            Name of each axis to its value.
        """
        got = called(self.function, **point)
        return got if isinstance(got, Mapping) else {self.names[0]: got}

    def inputs(self) -> dict[str, str]:
        """Return a hash of the function."""
        return {"function": identity.of_function(self.function)}

    def check(self, points: Sequence[tuple[str, Point]]) -> None:
        """Accept every point.

        Parameters
        ----------
        points : sequence of (str, mapping)
            Points, each with the words that stand for it.
        """


class _Cases:
    """What models of cases share: the outputs, and how they are evaluated."""

    outputs: tuple[Output, ...]

    def case(self, point: Point) -> Case:
        """Return the case at a point."""
        raise NotImplementedError

    def fields(self) -> dict[str, Field]:
        """Return the variables of the result by name."""
        return outputs.fields(self.outputs)

    def evaluate(self, point: Point) -> Mapping[str, Any]:
        """Run the case at a point and return its outputs; where a function made it, its hash too."""
        case = self.case(point)
        told = {MADE: identity.of_case(case)} if self.by_function else {}
        return {**evaluate_case(case, self.outputs, self.dry(point), self.limits(point)), **told}

    def made(self, point: Point) -> int:
        """Return the hash of the case that a function makes of a point; 0 where none does: the inputs tell all then."""
        return identity.of_case(self.case(point)) if self.by_function else 0

    def dry(self, point: Point) -> Any:
        """Return what a case is without its wettings, to be compared; None where it is not known."""
        return None

    def limits(self, point: Point) -> dict[str, float]:
        """Return limits of criteria that stand instead of their own."""
        return {}

    def check(self, points: Sequence[tuple[str, Point]]) -> None:
        """Raise InputError where a point gives no case, or a case without what the outputs read."""
        outputs.check_criteria(self.outputs)
        marks: Array | None = None
        failed: list[InputError] = []
        for words, point in points:
            try:
                case = self.case(point)
                if self.by_function:
                    identity.of_case(case)  # a case that cannot be told from another is refused before anything runs
            except InputError as error:
                failed.append(error.at(words))
                if not self.by_function:
                    raise failed[0] from None
                continue
            except FunctionFailed as error:
                failed.append(InputError(str(error), words))
                continue
            names = [layer.name for layer in case.assembly.layers]
            for o in self.outputs:
                where = f"output '{o.name}', {words}"
                if o.layer and o.layer not in names:
                    known = ", ".join(f"'{n}'" for n in names)
                    raise InputError(
                        f"no layer is called '{o.layer}' ({known}); a layer whose material is varied needs a name",
                        where,
                    )
                if o.kind.source == "trial" and not case.wettings:
                    raise InputError("it needs a [[wetting]] in the case", where)
                if o.kind.dimension:
                    new = outputs.kept_marks(case)
                    if marks is not None and (len(new) != len(marks) or new[0] != marks[0]):
                        raise InputError("a series needs the same period in all cases", where)
                    marks = new
        if failed and len(failed) == len(points):  # a function may fail somewhere, not everywhere
            raise failed[0]

    @property
    def by_function(self) -> bool:
        """Whether a function of the user makes the cases."""
        return getattr(self, "vary", None) is not None


def _needed(given: Any) -> tuple[Output, ...]:
    """Return outputs as a tuple; InputError where they are none."""
    if isinstance(given, str | Output):
        right = f'Output("{given}")' if isinstance(given, str) else "Output(..)"
        raise InputError(f"it is no tuple of outputs; write ({right},)", "outputs")
    wanted = tuple(given) if isinstance(given, Iterable) else (given,)
    for o in wanted:
        if not isinstance(o, Output):
            right = f'; write Output("{o}")' if isinstance(o, str) else ""
            raise InputError(f"{o!r:.60} is no Output{right}", "outputs")
    return wanted


def _varied(vary: Callable[..., Case], case: Case, values: Point) -> Case:
    """Return the case that a function makes of values; FunctionFailed where it makes none."""
    found = called(vary, case, **values)
    if not isinstance(found, Case):
        name = getattr(vary, "__name__", type(vary).__name__)
        raise FunctionFailed(f"'{name}' returned {type(found).__name__}, not a Case")
    return found


#: Keys of a case file that name a plugin's entry or a file.
_NAMING = ("name", "material", "film", "file", "catalogues")


@dataclass(frozen=True)
class VariedCase(_Cases):
    """A case in Python, varied by a function.

    Parameters
    ----------
    base : Case
    vary : callable
        ``vary(case, **values) -> Case``.
    outputs : tuple of Output
    """

    base: Case
    vary: Callable[..., Case]
    outputs: tuple[Output, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "outputs", _needed(self.outputs))

    def case(self, point: Point) -> Case:
        """Return the case at a point.

        Parameters
        ----------
        point : mapping
            Name of each axis to its value.
        """
        return _varied(self.vary, self.base, point)

    def coordinates(self) -> dict[str, Array]:
        """Return the coordinates of series."""
        return outputs.coordinates(self.outputs, self.base)

    def inputs(self) -> dict[str, str]:
        """Return hashes of the base case, the function and the engine."""
        return {
            "base case": identity.of_object(self.base),
            "function": identity.of_function(self.vary),
            "outputs": identity.of_object(self.outputs),
            **fingerprint.of_plugins("criteria", [o.criterion for o in self.outputs if o.criterion]),
            **fingerprint.of_engine(),
        }


@dataclass(frozen=True)
class CaseFileModel(_Cases):
    """A case file, varied at places in it.

    Parameters
    ----------
    path : Path
        The base case file; file names in it are seen from there.
    document : dict
        Its sections (`drydown.casefile.load`).
    axes : tuple of Axis
        Those with paths are put into the file; the values of the others go to `vary`.
    outputs : tuple of Output
    vary : callable, optional
        ``vary(case, **values) -> Case``, after the values of the file are set.
    drawn : mapping of str to Drawn, optional
        By name of an axis whose values are numbers of draws from what a fit leaves open, counted from 1.
    """

    path: Path
    document: Document
    axes: tuple[Axis, ...]
    outputs: tuple[Output, ...]
    vary: Callable[..., Case] | None = None
    drawn: Mapping[str, Drawn] = field(default_factory=dict)
    _places: dict[str, list[Place]] = field(default_factory=dict, init=False, repr=False, compare=False)
    _kept: dict[Any, Any] = field(default_factory=dict, init=False, repr=False, compare=False)
    _token: object = field(default_factory=object, init=False, repr=False, compare=False)

    def __getstate__(self) -> dict[str, Any]:
        """Leave what was read behind: the other process reads it itself."""
        return {**self.__dict__, "_kept": {}}

    def __post_init__(self) -> None:
        object.__setattr__(self, "outputs", _needed(self.outputs))
        file = str(self.path)
        for axis in self.axes:
            where = f"{file}, seen from axis '{axis.name}'"
            self._places[axis.name] = [resolve(self.document, path, where) for path in axis.paths]
            if not axis.paths and self.vary is None and axis.name not in self.drawn:
                raise InputError("it has no path in the case file, and no function takes it", f"axis '{axis.name}'")
            for name, drawn in self.drawn.items():
                if same := [path for path in axis.paths if drawn.sets(path)]:
                    raise InputError(f"axis '{name}' sets {same[0]} in every draw already", f"axis '{axis.name}'")
        taken: dict[Place, str] = {}
        for name, places in self._places.items():
            for place in places:
                if place in taken:
                    raise InputError(f"axis '{taken[place]}' sets the same place already", f"axis '{name}'")
                taken[place] = name

    def document_at(self, point: Point) -> Document:
        """Return the case file at a point; axes that are not in the point keep the value of the file.

        Parameters
        ----------
        point : mapping
            Name of each axis to its value.
        """
        document = copy.deepcopy(self.document)
        for name, value in point.items():
            for place in self._places[name]:
                put(document, place, value)
        return document

    def case(self, point: Point) -> Case:
        """Return the case at a point.

        Parameters
        ----------
        point : mapping
            Name of each axis to its value.
        """
        from ..casefile import case_of

        case = case_of(self.document_at(point), self.path, self._kept)
        for name, drawn in self.drawn.items():
            if name in point:
                case = drawn.case(case, point[name])
        free = [axis.name for axis in self.axes if not axis.paths and axis.name not in self.drawn]
        rest = {name: point[name] for name in free if name in point}
        return case if self.vary is None else _varied(self.vary, case, rest)

    def dry(self, point: Point) -> Any:
        """Return the case file at a point without its wettings, and this model.

        Parameters
        ----------
        point : mapping
            Name of each axis to its value.
        """
        if self.vary is not None:
            return None
        draws = tuple(point.get(name) for name in self.drawn)
        return self._token, draws, {k: v for k, v in self.document_at(point).items() if k not in ("wetting", "title")}

    def limits(self, point: Point) -> dict[str, float]:
        """Return the limits that the case file states, by name.

        Parameters
        ----------
        point : mapping
            Name of each axis to its value.
        """
        from ..criteria.limits import parse_limits

        given = self.document_at(point).get("limits")
        return parse_limits(given, f"{self.path}, limits") if given else {}

    def coordinates(self) -> dict[str, Array]:
        """Return the coordinates of series."""
        series = [o for o in self.outputs if o.kind.dimension]
        if not series:
            return {}
        first = {axis.name: axis.values[0] if axis.values else axis.levels(np.array([0.5]))[0] for axis in self.axes}
        return outputs.coordinates(series, self.case(first))

    def inputs(self) -> dict[str, str]:
        """Return hashes of the base case, the files it reads, the plugins it uses and the engine."""
        out = {"base case": fingerprint.of_data(self.document), "outputs": identity.of_object(self.outputs)}
        if self.vary is not None:
            out["function"] = identity.of_function(self.vary)
        out |= {f"axis '{name}'": identity.of_object(drawn) for name, drawn in self.drawn.items()}
        naming = [a for a in self.axes if any(place[-1] in _NAMING for place in self._places[a.name])]
        varied = [self.document_at({a.name: value}) for a in naming for value in a.values]
        from ..case.loads import catalogue
        from ..casefile.schema import loads

        outside = [name for name in loads() if name not in catalogue()]
        names: dict[str, set[str]] = {"materials": set(), "climates": set(), "loads": set()}
        for document in [self.document, *varied]:
            names["loads"] |= {name for name in outside if name in document}
            climate = document.get("climate", {})
            if isinstance(climate, dict) and "name" in climate:
                names["climates"].add(str(climate["name"]))
            for layer in document.get("layer", ()):
                if isinstance(layer, dict):
                    names["materials"] |= {str(layer[k]) for k in ("material", "film") if k in layer}
            for _, path in files_of(document, self.path)[1:]:
                name = os.path.relpath(path, self.path.parent)
                if path.is_dir():
                    out[f"folder {name}"] = fingerprint.of_catalogues(path)
                elif path.is_file():
                    out[f"file {name}"] = fingerprint.of_file(path)
        for group, used in names.items():
            out |= fingerprint.of_plugins(group, used)
        out |= fingerprint.of_plugins("criteria", [o.criterion for o in self.outputs if o.criterion])
        return out | fingerprint.of_engine()
