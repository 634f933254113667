"""The command `compare`: variants of one wall side by side."""

from __future__ import annotations

from pathlib import Path

import click

from .frame import (
    FIGURES,
    Progress,
    Stop,
    check_output,
    in_units_of,
    keep_inputs,
    line_of,
    say_written,
    tell,
    write_data,
    write_figure,
)


@click.command(short_help="Variants of a wall side by side.")
@click.argument("case_file", metavar="CASE.toml", type=click.Path(path_type=Path))
@click.option(
    "-o", "--output", metavar="OUT.nc", type=click.Path(path_type=Path), help="Keep the comparison as netCDF."
)
@click.option(
    "--figure", metavar="OUT.png", type=click.Path(path_type=Path), help="Draw the variants (.png, .pdf, .svg)."
)
def compare(case_file: Path, output: Path | None, figure: Path | None) -> None:
    """Run the case as written and every [[variant]] of its file, and put the answers side by side.

    A variant is a change to the case, such as

    \b
        [[variant]]
        name = "polyethylene inside"
        set = { "layer.6.film" = "polyethylene 0.15 mm" }

    with `set`, `remove` (a list of places) and `add`; layers are counted in the order of the file, from outside.
    """
    check_output(output, (".nc",), "--output")
    check_output(figure, FIGURES, "--figure")
    from ..casefile import files_of, limits_of, load
    from ..casefile.variants import variants_of
    from ..run.simulation import SimulationError
    from ..trial.compare import compare as run_all
    from ..wording.comparison import comparison_answer

    data = load(case_file)
    keep_inputs({"--output": output, "--figure": figure}, files_of(data, case_file))
    variants = variants_of(data, case_file)
    in_units_of(data, case_file, variants[0].case)
    limits = limits_of(data, case_file)
    try:
        with Progress(f"running {len(variants)} variants") as progress:
            found = run_all(variants, limits, progress)
    except SimulationError as error:
        raise Stop(f"{case_file}: {error}") from None
    write_data(found, output)
    if figure is not None:
        from ..figures.comparison import comparison_figure

        write_figure(comparison_figure(found), figure)
    tell(comparison_answer(found, variants, limits))
    if said := line_of(data, case_file):
        tell(said)
    say_written(output, figure)
