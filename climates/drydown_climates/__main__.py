"""More years like those of a weather file: ``python -m drydown_climates weather.epw --years 20 --output more.nc``."""

from __future__ import annotations

import sys
from pathlib import Path

import click
from drydown.climate.weather.files import read_weather, write_weather
from drydown.errors import InputError


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--years", type=click.IntRange(1, 100), default=20, show_default=True, help="How many.")
@click.option("--first-year", type=click.IntRange(1900, 2200), default=2021, show_default=True)
@click.option("--seed", type=int, default=0, show_default=True, help="Another one gives other years.")
@click.option("--output", required=True, type=click.Path(path_type=Path), help="A file to write, .nc or .csv.")
def main(file: Path, years: int, first_year: int, seed: int, output: Path) -> None:
    """Make more years like those of a weather FILE: invented hours with its months and its behaviour."""
    from .fitting import fit_place
    from .generator import generate

    try:
        place = fit_place(read_weather(file), file.stem)
        write_weather(generate(place, years, first_year, seed), output)
    except InputError as error:
        click.echo(f"drydown_climates: {error}", err=True)
        sys.exit(2)
    click.echo(
        f"Written: {output}, {years} years like {file.name}. "
        "They are invented: where there is measured weather, it decides."
    )


if __name__ == "__main__":
    main()
