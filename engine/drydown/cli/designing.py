"""`drydown bench design`: the permeance curve that protects a set of walls best."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ..errors import InputError
from ..text import paragraph, plain, table
from .frame import FIGURES, Progress, Stop, check_output, say_written, write_data, write_figure

if TYPE_CHECKING:
    import xarray as xr

_path = click.Path(path_type=Path)


@click.command(short_help="The curve that protects a set of walls best.")
@click.argument("case_files", metavar="CASE.toml...", type=_path, nargs=-1, required=True)
@click.option("--film", metavar="NAME", required=True, help="The film whose place is taken, in every wall.")
@click.option(
    "--vary",
    metavar="PATH=VALUES",
    multiple=True,
    help="Walls in every combination, such as 'climate.name=fernmoor, sand point'; may be repeated.",
)
@click.option(
    "--goal",
    type=click.Choice(["margin", "drying"]),
    default="margin",
    show_default=True,
    help="The largest margin below every limit, or the fastest drying within them.",
)
@click.option(
    "--family",
    type=click.Choice(["logistic", "two-level", "exponential", "constant"]),
    default="logistic",
    show_default=True,
)
@click.option("--least", metavar="PERMEANCE", help="What can be made: least permeance.")
@click.option("--greatest", metavar="PERMEANCE", help="Greatest permeance.")
@click.option("--ratio", type=float, help="Greatest over least.")
@click.option("--steepness", type=float, help="Greatest change of ln P from 0 to 100 % humidity.")
@click.option("--front", type=click.IntRange(0, 20), default=0, help="Curves between winter and summer as well.")
@click.option("--library/--no-library", default=True, help="Compare with every film of the library.")
@click.option("--name", default="designed film", show_default=True, help="What the film is called.")
@click.option("--film-file", metavar="FILM.toml", type=_path, help="Write the film for `catalogues` of a case file.")
@click.option("-o", "--output", metavar="OUT.nc", type=_path, help="Keep the result as netCDF.")
@click.option("--figure", metavar="OUT.png", type=_path, help="Draw it (.png, .pdf, .svg).")
def design(
    case_files: tuple[Path, ...],
    film: str,
    vary: tuple[str, ...],
    goal: Any,
    family: str,
    least: str | None,
    greatest: str | None,
    ratio: float | None,
    steepness: float | None,
    front: int,
    library: bool,
    name: str,
    film_file: Path | None,
    output: Path | None,
    figure: Path | None,
) -> None:
    """Find the permeance curve that keeps every wall within its limits with the largest margin, or dries fastest.

    The set is every CASE.toml with its variants, in every combination of what is varied.
    """
    check_output(output, (".nc",), "--output")
    check_output(figure, FIGURES, "--figure")
    check_output(film_file, (".toml",), "--film-file")
    from ..bench.designing import design as designed
    from ..bench.makeable import Makeable
    from ..casefile.crossed import crossed
    from ..criteria.limits import parse_limits
    from ..materials.model import Film
    from ..plugins import materials
    from ..quantities import parse
    from ..run.simulation import SimulationError

    changes = _varied(vary)
    walls = {}
    for file in case_files:
        for wall in crossed(file, changes):
            label = wall.name if len(case_files) == 1 else f"{file.stem}: {wall.name}"
            walls[label] = (wall.case, parse_limits(wall.limits, f"{file}, limits") if wall.limits else {})
    bounds = {"ratio": ratio, "steepness": steepness}
    for key, text in (("least", least), ("greatest", greatest)):
        if text is not None:
            bounds[key] = parse(text, "permeance", f"--{key}")
    made = Makeable(**{k: v for k, v in bounds.items() if v is not None})
    films = {k: v for k, v in materials().entries().items() if isinstance(v, Film)} if library else None
    try:
        with Progress(f"designing for {len(walls)} walls") as progress:
            tick = Counted(progress, len(walls), front, len(films or ()))
            found = designed(walls, film, family, goal, made, library=films, along_front=front, tick=tick)
    except SimulationError as error:
        raise Stop(str(error)) from None
    write_data(found, output)
    if figure is not None:
        from ..bench.design_drawing import design_figure

        write_figure(design_figure(found), figure)
    if film_file is not None:
        from ..files import write_text

        write_text(film_file, "\n".join(film_text(found, name)) + "\n")
    click.echo("\n".join(answer(found)))
    say_written(output, figure, film_file)


class Counted:
    """How far a design is, by the walls that were run against a guess of how many it takes."""

    def __init__(self, progress: Progress, walls: int, front: int, library: int) -> None:
        self.progress, self.done = progress, 0.0
        # a full run counts as two coarse ones
        self.whole = walls * (12 + 15 * 2 + 2 * 6 * 2 + 2 * 5 + 5 * 2 * front + 2 * front) + 2 * 3 * library

    def __call__(self, stage: str) -> None:
        """Count a wall that was run."""
        self.done += 1.0 if stage == "search" else 2.0
        self.progress(min(self.done / self.whole, 0.99))


def _varied(given: Sequence[str]) -> dict[str, list[str]]:
    out: dict[str, list[str]] = {}
    for text in given:
        path, mark, values = text.partition("=")
        found = [v.strip() for v in values.split(",") if v.strip()]
        if not mark or not path.strip() or not found:
            raise InputError(f"'{text}': write it as 'climate.name=fernmoor, sand point'", "--vary")
        out[path.strip()] = found
    return out


def film_text(found: xr.Dataset, name: str) -> list[str]:
    """Return the film as a catalogue entry."""
    from ..bench.catalogue_keys import curve_keys
    from ..toml import quoted

    values = {k.removeprefix("parameter_"): float(v) for k, v in found.attrs.items() if k.startswith("parameter_")}
    walls = found.sizes["wall"]
    return [
        f"# {found.attrs['title']}, for {walls} walls: a wish, no measured film",
        "[source.design]",
        'authors = "designed by drydown bench design"',
        "year = 0",
        'where = "computed"',
        'kind = "demo"',
        "",
        f"[film.{quoted(name)}]",
        f"permeance = {{ {curve_keys(str(found.attrs['family']), values)} }}",
        'source = "design"',
    ]


def answer(found: xr.Dataset) -> list[str]:
    """Return a design in words."""
    a = found.attrs
    drying = a["goal"] == "drying"
    unit = " days" if drying else ""
    lines = [_headline(found), ""]
    values = [(k.removeprefix("parameter_"), float(v)) for k, v in a.items() if k.startswith("parameter_")]
    lines += [table([("the curve", str(a["family"])), *((k, _shown(k, v)) for k, v in values)]), ""]
    rows: list[tuple[str, ...]] = [("wall", "load", "wettest, % of mass", "water stays, days")]
    for i, wall in enumerate(found["wall"].values):
        numbers = (found["load"], 100.0 * found["wettest"], found["stay"])
        rows.append((str(wall), *(plain(float(n[i])) if float(n[i]) == float(n[i]) else "-" for n in numbers)))
    lines += [table(rows, left=0), ""]
    if "compared" in a:
        text = "No film of the library passes the limits as little as the design."
        if "library_measure" in a:
            such = " that passes no limit further than the design" if drying else ""
            text = f"The best film of the library{such} is {a['library_best']}: {plain(a['library_measure'])}{unit}."
        lines.append(paragraph(f"{text} {a['beaten']:.0f} of its {a['compared']:.0f} are worse than the design."))
    off = found["measure_off"].values
    words = [f"{n} {plain(float(v))}" for n, v in zip(found["off"].values[1:], off[1:], strict=True)]
    lines.append(paragraph(f"As made, it would be off: {', '.join(words)}{unit}."))
    ends = ", ".join(plain(float(v)) for v in found["measure_of_start"].values)
    lines.append(paragraph(f"The searches from {found.sizes['start']} starts ended, coarsely, at {ends}{unit}."))
    lines.append(
        paragraph(
            "A design is a wish: whether such a film can be made, aged and taped is for its maker to show, and local "
            "codes come first."
        )
    )
    return lines


def _headline(found: xr.Dataset) -> str:
    a, walls = found.attrs, found.sizes["wall"]
    over = [str(w) for w, text in zip(found["wall"].values, found["exceeded"].values, strict=True) if text]
    slowest = "in the wall" if walls == 1 else f"in the slowest of {walls} walls"
    if a["goal"] == "drying":
        text = f"With the designed film water stays {plain(a['measure'])} days on average {slowest}"
    else:
        worst = "the wall" if walls == 1 else f"the worst of {walls} walls"
        text = f"With the designed film {worst} comes to {plain(a['measure'])} of a limit"
    if over:
        where = "" if walls == 1 else f" in {len(over)} of them"
        return paragraph(f"{text}; limits are passed{where}: no curve that can be made keeps them all.")
    return paragraph(f"{text}; every limit is kept.")


def _shown(name: str, value: float) -> str:
    from ..quantities import show

    if name in ("closed", "open", "dry", "rise", "value"):
        return str(show(value, "permeance"))
    return str(show(value, "humidity")) if name in ("middle", "width", "start", "end") else plain(value)
