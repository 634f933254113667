"""Ready sets of free inputs: is air leaking, is rain getting in, how wet was it when it was closed.

What a question asks for and the case does not hold yet is put into it, small; beside it what every logger leaves open
is free, its offset.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from ..case.air_leak import AirLeak
from ..case.case import Case
from ..case.loads import RainShare
from ..errors import InputError
from .free import Free, free
from .logs import Log
from .sensors import Sensor

Question = Literal["leak", "rain", "start"]
#: What each asks, and the factor that nine of ten lie within, about the usual figure.
QUESTIONS: dict[str, str] = {
    "leak": "is air leaking, and how much",
    "rain": "is rain getting in, and how much",
    "start": "how wet was it when it was closed",
}
#: Usual figures that a question begins from: q50 [m3/(m2 s)], share of the rain; a case of its own has its own.
Q50, SHARE = 1.0 / 3600.0, 0.003
WIDE, WET = 10.0, 2.0
#: What nine of ten probes are off by at most, by quantity (makers' figures are of this size; common practice).
OFFSETS = {"relative_humidity": 0.03, "temperature": 0.4, "moisture_content": 0.02, "vapour_pressure": 40.0}


def asked(case: Case, question: Question, logs: Sequence[Log], layer: str = "") -> tuple[Case, list[Free]]:
    """Return a case that holds what a question asks for, and what is free in it.

    Parameters
    ----------
    case : Case
    question : {'leak', 'rain', 'start'}
    logs : sequence of Log
        Of the wall; their offsets are free as well.
    layer : str
        Where rain gets to, or whose start is asked for; that of the first log by default.

    Raises
    ------
    InputError
        If the question is none, or no layer has that name.
    """
    if question not in QUESTIONS:
        raise InputError(f"'{question}' is no question; use {', '.join(QUESTIONS)}", "question")
    layer = layer or logs[0].sensor.layer
    case.assembly.layer_index(layer)
    if question == "leak":
        number = _leak_that_flows(case)
        if number is None:
            facing = case.outside.facing
            given = {} if facing is not None else {"orientation": 0.0, "wind_factor": 0.5}
            leak = AirLeak.from_keys({"way": "flow", "q50": Q50, **given}, case.assembly, case.outside)
            case = replace(case, loads=(*case.loads, leak))
            number = _leak_that_flows(case)
        found = [free(case, f"air_leak.{number}.q50", factor=WIDE, name="leak, q50")]
    elif question == "rain":
        if not any(isinstance(x, RainShare) for x in case.loads):
            case = replace(case, loads=(*case.loads, RainShare(layer, SHARE)))
        found = [free(case, "rain_share.1.share", name="share of the rain", within=(SHARE / WIDE, SHARE * WIDE))]
    else:
        layers = list(dict.fromkeys([layer, *(log.sensor.layer for log in logs)]))
        found = [free(case, f'layer."{x}".start_water', factor=WET, name=f"water of {x} at the start") for x in layers]
    return case, [*found, *offsets([log.sensor for log in logs])]


def _leak_that_flows(case: Case) -> int | None:
    """Return the number of the first leak that flows, among the leaks of the case."""
    leaks = [x for x in case.loads if isinstance(x, AirLeak)]
    return next((i for i, x in enumerate(leaks, 1) if x.way == "flow"), None)


def offsets(sensors: Sequence[Sensor]) -> list[Free]:
    """Return what sensors read too much, free."""
    out = []
    for s in sensors:
        if s.quantity in OFFSETS:
            edge = OFFSETS[s.quantity]
            sd = edge / 1.6449
            out.append(Free(f"sensor.{s.name}.offset", 0.0, sd, "linear", f"offset of {s.name}"))
    return out
