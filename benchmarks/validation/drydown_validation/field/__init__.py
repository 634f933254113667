"""The panel of walls whose fate is known: what inspectors found when they opened them, and what the engine says.

The walls stand in ``walls.toml``, in the form of a case file with a few words for what is usual. They check the words
of the verdict, not numbers: a wall that was sound must not be called harmed, and a wall that failed must be.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
#: Share of the panel that has to agree.
PROMISED = 0.9
OUTCOMES = ("sound", "wet in winter", "damaged")
#: Indoor air by its words: the sections of a case file. Yearly courses have their height in August (common practice).
INDOOR: dict[str, dict[str, Any]] = {
    "lived in": {"model": "normal occupancy"},
    "high": {"model": "high occupancy"},
    "cooled": {"model": "air conditioned"},
    "cooled low": {"model": "air conditioned", "heating": "21 degC", "cooling": "22 degC"},
    "50 % all year": {"model": "constant", "temperature": "21 degC", "humidity": "50 %"},
    "20 % in winter, 50 % in summer": {"model": "annual", "humidity": "35 %", "humidity_amplitude": "15 %"},
    "35 % in winter, 55 % in summer": {"model": "annual", "humidity": "45 %", "humidity_amplitude": "10 %"},
    "45 % in winter, 55 % in summer": {"model": "annual", "humidity": "50 %", "humidity_amplitude": "5 %"},
}
#: Where driving rain comes from in the invented climates.
RAINY = {
    "fernmoor": "170 deg",
    "kelpwick": "210 deg",
    "thornvale": "80 deg",
    "saltreed": "130 deg",
    "rimefell": "160 deg",
}
RAIN = {
    "usual": {"rain_exposure": 1.0, "rain_deposition": 0.5},
    "sheltered": {"rain_exposure": 0.7, "rain_deposition": 0.35},
    "severe": {"rain_exposure": 1.3, "rain_deposition": 1.0},
}
#: The ground under a heated house in the cold climate, see `usual`.
GROUND = {"mean": "12 degC", "humidity": "99.98 %"}
YEARS = 3


@dataclass(frozen=True)
class FieldWall:
    """One wall with its fate.

    Parameters
    ----------
    name, about : str
    expected : str
        One of `OUTCOMES`.
    found, known, source : str
        What was found, how that is known, and from where.
    data : dict
        The sections of a case file.
    why : str
        Where the engine is known to say something else: why.
    """

    name: str
    about: str
    expected: str
    found: str
    known: str
    source: str
    data: dict[str, Any]
    why: str = ""


@dataclass(frozen=True)
class Answer:
    """What the engine says of one wall.

    Parameters
    ----------
    name : str
    found : str
        One of `OUTCOMES`, or ``"no answer"``.
    reasons : tuple of str
        What passes a limit, and what comes near one.
    """

    name: str
    found: str
    reasons: tuple[str, ...]


def walls() -> list[FieldWall]:
    """Return the panel."""
    given = tomllib.loads((HERE / "walls.toml").read_text(encoding="utf-8"))["wall"]
    keys = ("name", "about", "expected", "found", "known", "source")
    return [FieldWall(**{k: w[k] for k in keys}, data=usual(w), why=w.get("why", "")) for w in given]


def usual(wall: dict[str, Any]) -> dict[str, Any]:
    """Return the sections of a case file of a wall of the panel.

    What a wall does not state: it faces north, is of middle colour, has 1.0 and 0.5 as factors of its driving rain, is
    lived in (EN 15026), begins on 1 October at 10 degC and 75 % and is followed for three years. A roof has a tilt of
    30 degrees and is dark; a floor lies half a metre below the ground around it, whose mean under the heated house is
    halfway between outdoors and room, and which is moist: 99.98 % are the 33 kPa of soil at field capacity (from
    memory; 99 % would be drier than plants live in). A crawl space has air of 13 degC and the humidity that is stated.
    """
    place, roof = wall.get("climate", ""), wall.get("roof", False)
    facing = wall.get("facing", "north")
    outside: dict[str, Any] = {
        "orientation": RAINY[place] if facing == "rain" else facing,
        "absorptance": wall.get("absorptance", 0.8 if roof else 0.6),
        **RAIN[wall.get("rain", "usual")],
    }
    if roof:
        outside["tilt"] = "30 deg"
    inside = {**INDOOR[wall.get("indoor", "lived in")], "surface": "ceiling" if roof else "wall"}
    if wall.get("ground"):
        outside, inside["surface"] = {"model": "ground", "depth": "0.5 m", "soil": "clay", **GROUND}, "floor"
    climate = {"climate": {"name": place}}
    if "crawl" in wall:
        climate = {}
        outside = {"model": "constant", "temperature": "13 degC", "humidity": wall["crawl"]}
        inside = {"model": "constant", "temperature": "20 degC", "humidity": "45 %", "surface": "floor"}
    data: dict[str, Any] = {
        "title": wall["name"],
        **climate,
        "outside": outside,
        "inside": inside,
        "period": {"start": "2021-10-01", "years": YEARS},
        "start": {"temperature": "10 degC", "humidity": "75 %"},
        "layer": layers_of(wall["layers"]),
    }
    for key, section in (("vented", "ventilated_gap"), ("leak", "air_leak"), ("rain_share", "rain_share")):
        if key in wall:
            data[section] = [wall[key]]
    if "wetting" in wall:
        data["wetting"] = [wall["wetting"]]
    return data


def layers_of(texts: Sequence[str]) -> list[dict[str, Any]]:
    """Return the layers of their words; a second layer of one material is called the inner one."""
    out: list[dict[str, Any]] = []
    for text in texts:
        layer = layer_of(text)
        if "material" in layer and any(layer["material"] == other.get("material") for other in out):
            layer["name"] = f"inner {layer['material']}"
        out.append(layer)
    return out


def layer_of(text: str) -> dict[str, Any]:
    """Return a layer of its words: 'OSB, 11 mm' is of a material, 'kraft paper facing' a film."""
    name, comma, size = text.rpartition(", ")
    return {"material": name, "thickness": size} if comma and size[0].isdigit() else {"film": text}


def told(wall: FieldWall) -> Answer:
    """Return what the engine says of a wall."""
    from drydown import simulate
    from drydown.casefile import case_of
    from drydown.criteria import assess, counted

    case = case_of(wall.data, HERE / "walls.toml")
    findings = counted(assess(simulate(case)), [w.layer for w in case.wettings])
    bad = [f for f in findings if f.verdict == "exceeded"]
    near = [f for f in findings if f.verdict == "watch"]
    reasons = tuple(
        f"{f.title} {f.value_text} ({f.limit_text}) in {f.place.layer if f.place else 'the whole'}"
        for f in (*bad, *near)
    )
    return Answer(wall.name, "damaged" if bad else "wet in winter" if near else "sound", reasons)


def agrees(expected: str, found: str) -> bool:
    """Return whether an answer agrees with what was found.

    Sound walls may come near a limit; of a wall that only gathered moisture in winter anything but silence is right.
    """
    if expected == "damaged":
        return found == "damaged"
    if expected == "sound":
        return found in ("sound", "wet in winter")
    return found in ("wet in winter", "damaged")


def ask(
    names: Iterable[str] = (), processes: int = 2, progress: Callable[[float], None] | None = None
) -> list[tuple[FieldWall, Answer]]:
    """Ask the engine about the panel, or about some of it."""
    wanted = set(names)
    panel = [w for w in walls() if not wanted or w.name in wanted]
    answers: dict[str, Answer] = {}
    with ProcessPoolExecutor(processes) as pool:
        jobs = [pool.submit(told, wall) for wall in panel]
        for i, job in enumerate(as_completed(jobs), 1):
            answer = job.result()
            answers[answer.name] = answer
            if progress is not None:
                progress(i / len(jobs))
    return [(wall, answers[wall.name]) for wall in panel]


def table(asked: Sequence[tuple[FieldWall, Answer]]) -> tuple[str, bool]:
    """Return what was expected and found, why they differ, and whether enough of the panel agrees."""
    from drydown.text import paragraph
    from drydown.text import table as columns

    rows = [["wall", "expected", "found", "", "known from"]]
    rows += [[w.name, w.expected, a.found, "" if agrees(w.expected, a.found) else "differs", w.known] for w, a in asked]
    right = sum(agrees(w.expected, a.found) for w, a in asked)
    lines = [columns(rows, left=5), "", f"{right} of {len(asked)} agree, {100 * right / len(asked):.0f} %."]
    for w, a in asked:
        if not agrees(w.expected, a.found):
            why = "; ".join(a.reasons) or "no criterion comes near its limit"
            why += f". Why: {w.why}" if w.why else ""
            lines += ["", paragraph(f"{w.name}: {w.about}. Opened: {w.found} ({w.source}). The engine: {why}.", "  ")]
    return "\n".join(lines), right >= PROMISED * len(asked)
