"""The command `validate`: run the published cases on this machine and print the errors."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import click

from ..errors import InputError, nearest
from .frame import Progress, say_written, tell

#: Entry point group in which a validation registers its suite.
GROUP = "drydown.validation"


def suite() -> Any:
    """Return the installed validation.

    Raises
    ------
    InputError
        If none is installed, or it cannot be loaded.
    """
    from importlib.metadata import entry_points

    points = list(entry_points(group=GROUP))
    if not points:
        raise InputError("no validation is installed; install drydown again with pip, it brings its own", "validate")
    try:
        return points[0].load()
    except Exception as error:
        raise InputError(f"the validation cannot be loaded ({type(error).__name__}: {error})", "validate") from None


@click.command(short_help="Run the published cases and print the errors.")
@click.argument("names", metavar="[CASE]...", nargs=-1)
@click.option(
    "--out",
    metavar="FOLDER",
    type=click.Path(path_type=Path, file_okay=False),
    help="Write figures, a page and validation.json there.",
)
@click.option("--list", "listed", is_flag=True, help="Name the cases and stop.")
@click.option("--accuracy", is_flag=True, help="Measure the default settings on twelve assemblies instead.")
@click.option("--field", is_flag=True, help="Ask about walls whose fate is known from opening them, instead.")
@click.option(
    "--measured",
    metavar="FOLDER",
    type=click.Path(path_type=Path, file_okay=False, exists=True),
    help="Predict a logged wall blind instead, from its data in a folder.",
)
@click.option("--processes", type=click.IntRange(1, 64), default=2, show_default=True, help="Run side by side.")
def validate(
    names: tuple[str, ...],
    out: Path | None,
    listed: bool,
    accuracy: bool,
    field: bool,
    measured: Path | None,
    processes: int,
) -> None:
    """Run published cases and independent references, and print the errors.

    Without a CASE all of them run, which takes a few minutes. Ends with 1 if an error lies outside its band.
    """
    found = suite()
    known = found.field_walls() if field else found.CASES
    for name in names:
        if name not in known:
            what = "wall of the panel" if field else "case"
            raise InputError(f"no {what} is called '{name}'; {nearest(name, known)}", "validate")
    if field:
        if listed:
            for name, about in known.items():
                click.echo(f"{name:30s} {about}")
            return
        with Progress("asking about walls that were opened") as progress:
            text, enough = found.field(names, processes, progress)
        tell(text)
        sys.exit(0 if enough else 1)
    if listed:
        for name, title in found.describe().items():
            click.echo(f"{name:22s} {title}")
        for name, why in found.NOT_RUN.items():
            click.echo(f"not run: {name}: {why}")
        return
    if measured is not None:
        with Progress("predicting the logged wall") as progress:
            text, kept = found.measured(measured, out, progress)
        click.echo(text)
        with Progress("fitting the logged wall to its first half") as progress:
            text, too = found.measured_fitted(measured, out, progress)
        click.echo(f"\n{text}")
        if out is not None:
            say_written(out / "measured-wall.png", out / "measured-wall-fitted.png")
        sys.exit(0 if kept and too else 1)
    if accuracy:
        with Progress("measuring") as progress:
            text, kept = found.accuracy(progress)
        click.echo(text)
        sys.exit(0 if kept else 1)
    with Progress("validating") as progress:
        outcomes = found.run(names, out, processes, progress)
    click.echo(found.text_table(outcomes))
    bad = [o.about.name for o in outcomes if not o.passed]
    if not names:
        for name, why in found.NOT_RUN.items():
            click.echo(f"not run: {name}: {why}")
    if out is not None:
        click.echo(f"Written: {out}/index.md, {out}/validation.json and a figure of each case")
    click.echo(
        f"{len(outcomes) - len(bad)} of {len(outcomes)} cases within their bands"
        + (f"; not: {', '.join(bad)}" if bad else "")
    )
    sys.exit(1 if bad else 0)
