"""The command `climates`: the climates that are installed, and the months of one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from .words import MONTHS, table

if TYPE_CHECKING:
    from .climate import Climate

Rows = list[tuple[str, ...]]

_units = click.option("--units", type=click.Choice(["si", "us"]), default="si", help="Units of the values.")


@click.command(short_help="List climates, or show the months of one.")
@click.argument("name", required=False)
@_units
def climates(name: str | None, units: str) -> None:
    """List the climates that are installed, or show the months of the one called NAME."""
    from . import plugins

    if name is not None:
        click.echo("\n".join(months(plugins.climate(name), units.upper())))
        return
    rows: Rows = [("climate", "source", "from", "to")]
    for climate in plugins.climates().entries().values():
        rows.append((climate.name, origin(climate), str(climate.start)[:10], str(climate.end)[:10]))
    click.echo(table(rows, left=4))


def origin(climate: Climate) -> str:
    """Return where the data of a climate come from."""
    return f"synthetic, an invented place: {climate.source}" if climate.synthetic else climate.source


def months(climate: Climate, system: Any) -> list[str]:
    """Return a climate month by month, over all its years."""
    import numpy as np

    from .quantities import convert, unit_label

    month = (climate.time - np.timedelta64(1, "h")).astype("datetime64[M]").astype(int) % 12
    years = len(climate.time) / 8766.0
    unit = unit_label("temperature", system)
    rows: Rows = [("month", f"mean, {unit}", "lowest", "highest", "humidity, %", "rain, mm")]
    for i, name in enumerate((*MONTHS, "year")):
        here = (month == i) | (i == 12)
        t = convert(climate.temperature[here], "temperature", system)
        rain = "unknown" if climate.rain is None else f"{climate.rain[here].sum() / years:.0f}"
        humidity = f"{100 * climate.humidity[here].mean():.0f}"
        rows.append((name, f"{t.mean():.1f}", f"{t.min():.1f}", f"{t.max():.1f}", humidity, rain))
    place = f"latitude {climate.latitude:g}, longitude {climate.longitude:g}, {climate.altitude:g} m high"
    period = f"hours from {str(climate.start)[:10]} to {str(climate.end)[:10]}"
    mended = [f"mended: {repair}" for repair in climate.repairs]
    return [climate.name, origin(climate), f"{place}; {period}", "", table(rows), *mended]
