"""The command `fit`: what loggers in a wall say about it."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ..errors import InputError
from ..text import paragraph, plain, table
from .frame import FIGURES, Progress, Stop, check_output, keep_inputs, line_of, of_case, say_written, tell, write_data
from .frame import write_figure as draw

if TYPE_CHECKING:
    from ..case.case import Case
    from ..inverse.free import Free

_path = click.Path(path_type=Path)
#: How a free input and its prior are written: 'path', or 'path = LOW to HIGH'.
_PRIOR = re.compile(r"^(?P<path>.+?)\s*(?:=\s*(?P<low>.+?)\s+to\s+(?P<high>.+?)\s*)?$")
#: Sensors that are told.
SHOWN = 5
#: Quantity of a key that no section of a case file reads.
_READS = {"start_water": "water_content", "depth": "thickness", "clock": "time", "start_humidity": "humidity"}


@click.command(short_help="What loggers in a wall say about it.")
@click.argument("case_file", metavar="CASE.toml", type=_path)
@click.option("--measured", metavar="LOG.csv", type=_path, required=True, help="What was logged; columns say where.")
@click.option(
    "--free",
    "paths",
    metavar="PATH[=LOW to HIGH]",
    multiple=True,
    help="What is not known, such as 'rain_share.1.share = 0.1 % to 3 %'; may be repeated.",
)
@click.option(
    "--question",
    type=click.Choice(["leak", "rain", "start"]),
    help="A ready set instead: is air leaking; is rain getting in; how wet was it when it was closed.",
)
@click.option("--layer", default="", metavar="NAME", help="The layer that the question is about.")
@click.option(
    "--sample/--no-sample",
    default=None,
    help="Draw the edges from the posterior; by default where the sampler is installed (drydown[fit]).",
)
@click.option("--next-sensor", metavar="ANSWER", help="Also: which further sensor would tell most about an answer.")
@click.option("-o", "--output", metavar="OUT.nc", type=_path, help="Keep the fit as netCDF.")
@click.option("--posterior", metavar="OUT.json", type=_path, help="Keep what was learned, for `dryout --posterior`.")
@click.option("--figure", metavar="OUT.png", type=_path, help="Draw the fit (.png, .pdf, .svg).")
@click.option("--page", metavar="OUT.html", type=_path, help="Write what was learned as a page.")
@click.option("--fitted", metavar="OUT.toml", type=_path, help="Write the fitted wall as a case file.")
def fit(
    case_file: Path,
    measured: Path,
    paths: tuple[str, ...],
    question: Any,
    layer: str,
    sample: bool | None,
    next_sensor: str | None,
    output: Path | None,
    posterior: Path | None,
    figure: Path | None,
    page: Path | None,
    fitted: Path | None,
) -> None:
    """Fit a wall to what was logged in it, and say what that tells of it and what it does not.

    A column of LOG.csv is headed like 'humidity at OSB inner [%]' or 'temperature at OSB inner + 3 mm [degC]'.
    """
    outputs = {"--output": output, "--posterior": posterior, "--figure": figure, "--page": page, "--fitted": fitted}
    endings: dict[str, tuple[str, ...]] = {
        "--output": (".nc",), "--posterior": (".json",), "--figure": FIGURES, "--page": (".html",)
    }  # fmt: skip
    for option, path in outputs.items():
        check_output(path, endings.get(option, (".toml",)), option)
    from ..casefile import read_file
    from ..inverse.fitting import fit as fitting
    from ..inverse.logs import beyond, read_logs
    from ..inverse.posterior import write_posterior
    from ..inverse.questions import asked, offsets
    from ..inverse.results import dataset
    from ..run.simulation import SimulationError
    from ..wording.fit import fit_answer

    if bool(paths) == bool(question):
        raise InputError("say what is not known: --free PATH, or a --question", "fit")
    given = read_file(case_file)
    keep_inputs(outputs, [*given.files, ("the log", measured)])
    case = given.case
    logs = beyond(read_logs(measured), case.start, case.end)
    if not logs:
        raise InputError(
            f"it holds too little between {case.start} and {case.end}, the period of the case", str(measured)
        )
    with of_case(case_file):
        if question:
            case, inputs = asked(case, question, logs, layer)
        else:
            inputs = [_free(case, text) for text in paths]
            named = {x.path for x in inputs}
            inputs += [x for x in offsets([log.sensor for log in logs]) if x.path not in named]
        # a run need not go on after the last reading
        last = max(log.time[-1] for log in logs)
        case = replace(case, end=min(case.end, last))
    try:
        with Progress("fitting") as progress:
            done = [0.0]

            def further(_: str) -> None:
                done[0] += 0.2 * (1.0 - done[0])
                progress(done[0])

            found = fitting(case, inputs, logs, progress=further)
            drawn = _drawn(found, sample)
        tell("\n\n".join(fit_answer(found, drawn, question or "")))
        if next_sensor:
            _next(case, inputs, next_sensor, found)
    except SimulationError as error:
        raise Stop(f"{case_file}: {error}") from None
    if output is not None or figure is not None or page is not None:
        from ..figures.fit import fit_figure

        data = dataset(found, drawn)
        write_data(data, output)
        if page is not None:
            from ..files import write_text
            from ..report.fit_page import fit_page

            write_text(page, fit_page(data, found, drawn, question or "", line_of(given.document, case_file)))
        if figure is not None:
            draw(fit_figure(data), figure)
    if posterior is not None:
        write_posterior(posterior, found, drawn)
    if fitted is not None:
        _write_fitted(found, given, fitted)
    if said := line_of(given.document, case_file):
        tell(said)
    say_written(output, posterior, figure, page, fitted)


def _drawn(found: Any, wanted: bool | None) -> Any:
    from ..inverse.sampling import installed, sample

    return sample(found) if wanted or (wanted is None and installed()) else None


def _free(case: Case, text: str) -> Free:
    """Return a free input as it is written behind --free."""
    from ..inverse.free import SENSOR, free

    match = _PRIOR.match(text)
    assert match is not None
    path = match["path"].strip()
    if match["low"] is None:
        return free(case, path)
    low, high = (_number(path, match[k]) for k in ("low", "high"))
    return free(case, path, within=(low, high), transform="linear" if path.startswith(SENSOR) else None)


def _number(path: str, text: str) -> float:
    """Return an end of a prior in SI; plain numbers are factors, or SI."""
    from ..casefile.schema import SECTIONS
    from ..quantities import parse

    key = path.rpartition(".")[2].strip("\"' ")
    try:
        return float(text)
    except ValueError:
        pass
    section = path.partition(".")[0]
    reads = next((k[key].reads for s, k in SECTIONS.items() if s.split(" ")[0] == section and key in k), "")
    reads = _READS.get(key, "fraction" if reads == "share" else reads)
    if not reads:
        raise InputError(f"'{text}' is no plain number", f"--free {path}")
    return parse(text, reads, f"--free {path}")


def _next(case: Case, inputs: list[Free], answer: str, found: Any) -> None:
    """Say which further sensor would tell most about an answer."""
    from ..inverse.next_sensor import next_sensor

    if not case.wettings:
        raise InputError(
            "a further sensor is chosen for the answer of a trial; the case has no [[wetting]]", "--next-sensor"
        )
    keep = [j for j, x in enumerate(inputs) if not x.of_sensor]
    covariance = found.covariance[keep][:, keep]
    data = next_sensor(case, [inputs[j] for j in keep], answer, z=found.z[keep], covariance=covariance)
    a = data.attrs
    unit = "" if a["unit"] == "1" else f" {a['unit']}"
    rows: list[tuple[str, ...]] = [("a further sensor", "takes of the doubt", "leaves (1 sd)")]
    for i in range(min(SHOWN, data.sizes["sensor"])):
        name, taken, left = str(data["sensor"].values[i]), float(data["shrinks"][i]), float(data["left"][i])
        rows.append((name, f"{100.0 * taken:.0f} %", f"{plain(left)}{unit}"))
    head = f"Next sensor, for the {a['answer']}: {plain(a['value'])}{unit}, one standard deviation {plain(a['doubt'])}"
    click.echo(f"\n{paragraph(head + unit + '.')}\n\n{table(rows, left=0)}")


def _write_fitted(found: Any, given: Any, path: Path) -> None:
    """Write the fitted wall as far as a case file can state it; what it cannot is said in its head."""
    from ..casefile.writing import write_case
    from ..files import write_text
    from ..inverse.free import put_all

    stated = [j for j, x in enumerate(found.free) if not x.of_sensor and not _beyond_a_file(x.path)]
    case = put_all(found.case, [found.free[j] for j in stated], found.z[stated])
    write_case(replace(case, name=f"{found.case.name}, fitted"), path, tuple(given.document.get("catalogues", ())))
    left = [j for j, x in enumerate(found.free) if _beyond_a_file(x.path)]
    if left:
        notes = [f"# {found.free[j].path} = {found.free[j].value(float(found.z[j])):.4g}" for j in left]
        head = "# Fitted too, but no case file states it; the posterior file holds it:"
        write_text(path, "\n".join([head, *notes, "", path.read_text(encoding="utf-8")]))


def _beyond_a_file(path: str) -> bool:
    return path.startswith("layer.") and (path.endswith("_factor") or ".permeance." in path)
