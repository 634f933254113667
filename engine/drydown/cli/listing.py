"""The command `climates`: the climates that are installed, the months of one, and its figure."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ..errors import InputError
from ..text import MONTHS, table
from .frame import FIGURES, check_output, say_written, system, write_figure

if TYPE_CHECKING:
    from ..climate.model import Climate

Rows = list[tuple[str, ...]]
#: Days of the months.
DAYS = (31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)

_units = click.option(
    "--units",
    type=click.Choice(["metric", "us", "si"], case_sensitive=False),
    default="metric",
    help="Units of the values.",
)


@click.command(short_help="List climates, show the months of one, or draw it.")
@click.argument("name", required=False)
@click.option(
    "--figure", metavar="OUT.png", type=click.Path(path_type=Path), help="Draw it (.png, .pdf, .svg): air, rain, sun."
)
@click.option("--facing", metavar="DIRECTION", help="In the figure, a wall that faces 'N', 'south-west' or '225 deg'.")
@click.option("--tilt", metavar="DEGREES", type=click.FloatRange(0, 180), help="Its tilt: 90 a wall, 0 a flat roof.")
@click.option("--behaviour", is_flag=True, help="How it behaves from hour to hour: calms, noise, humidity in rain.")
@_units
def climates(
    name: str | None, figure: Path | None, facing: str | None, tilt: float | None, behaviour: bool, units: str
) -> None:
    """List the climates that are installed, or show the one called NAME.

    A weather file (.epw, .csv, .nc) is shown in the same way.
    """
    from .. import plugins

    if behaviour:
        shown = list(plugins.climates().entries().values()) if name is None else [_climate(name)]
        click.echo(table(behaviour_rows(shown)))
        return
    if name is None:
        if figure is not None:
            raise InputError("name the climate to draw, such as fernmoor", "--figure")
        rows: Rows = [("climate", "source", "from", "to")]
        for climate in plugins.climates().entries().values():
            rows.append((climate.name, origin(climate), str(climate.start)[:10], str(climate.end)[:10]))
        click.echo(table(rows, left=4))
        return
    if figure is None and (facing is not None or tilt is not None):
        raise InputError("it is for a figure; add --figure out.png", "--facing" if facing is not None else "--tilt")
    if facing is None and tilt is not None:
        raise InputError("say where the surface faces, such as --facing south", "--tilt")
    check_output(figure, FIGURES, "--figure")
    azimuth = None
    if facing is not None:
        from ..casefile.values import direction

        azimuth = direction(facing, "--facing")
    climate = _climate(name)
    click.echo("\n".join(months(climate, system(units))))
    if figure is not None:
        from ..figures.climate import climate_figure

        write_figure(climate_figure(climate, azimuth, 90.0 if tilt is None else tilt), figure)
        say_written(figure)


def _climate(name: str) -> Climate:
    """Return a climate that is installed, or the weather of a file."""
    from .. import plugins

    if Path(name).suffix:
        from ..climate.weather.files import read_weather

        return read_weather(name)
    found: Climate = plugins.climate(name)
    return found


def behaviour_rows(shown: list[Climate]) -> Rows:
    """Return a row for each figure of behaviour and a column for each climate."""
    from ..climate.statistics import FIGURES as KEYS
    from ..climate.statistics import behaviour

    found = [behaviour(climate) for climate in shown]
    rows: Rows = [("", "unit", *(climate.name for climate in shown))]
    for f in KEYS:
        values = (v[f.key] for v in found)
        rows.append((f.words, f.unit, *("-" if v != v else f"{v:.{f.digits}f}" for v in values)))
    return rows


def origin(climate: Climate) -> str:
    """Return where the data of a climate come from."""
    return f"synthetic, an invented place: {climate.source}" if climate.synthetic else climate.source


def months(climate: Climate, system: Any) -> list[str]:
    """Return a climate month by month, over all its years."""
    import numpy as np

    from ..quantities import convert, unit_label

    month = (climate.time - np.timedelta64(1, "h")).astype("datetime64[M]").astype(int) % 12
    unit = unit_label("temperature", system)
    rows: Rows = [("month", f"mean, {unit}", "lowest", "highest", "humidity, %", "rain, mm")]
    for i, name in enumerate((*MONTHS, "year")):
        here = (month == i) | (i == 12)
        if not here.any():
            continue
        t = convert(climate.temperature[here], "temperature", system)
        # A month that is there in part is scaled to a whole one, a year not.
        per_hour = np.nan if climate.rain is None else float(climate.rain[here].mean())
        hours = 24.0 * (*DAYS, 365.25)[i]
        partial = i == 12 and len(np.unique(month)) < 12
        rain = "unknown" if climate.rain is None else "-" if partial else f"{per_hour * hours:.0f}"
        humidity = f"{100 * climate.humidity[here].mean():.0f}"
        rows.append((name, f"{t.mean():.1f}", f"{t.min():.1f}", f"{t.max():.1f}", humidity, rain))
    place = f"latitude {climate.latitude:g}, longitude {climate.longitude:g}, {climate.altitude:g} m high"
    period = f"hours from {str(climate.start)[:10]} to {str(climate.end)[:10]}"
    mended = [f"mended: {repair}" for repair in climate.repairs]
    return [climate.name, origin(climate), f"{place}; {period}", "", table(rows), *mended]
