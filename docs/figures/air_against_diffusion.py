"""Figure of docs/loads.md: water that diffusion and leaking air bring into one wall in a heating season.

Run it from the root of the repository: `python docs/figures/air_against_diffusion.py docs/air_against_diffusion.png`.
The wall is that of the library (demo) without its wetting; what is compared is common practice of the trade.
"""

from __future__ import annotations

import sys
from typing import Any, NamedTuple

import numpy as np
from drydown import Assembly, Case, Initial, Layer, simulate
from drydown.case.air_leakage import Leakage, LeakPath
from drydown.case.loads import AirLeak, VentilatedGap
from drydown.case.partial_cover import partly_covering
from drydown.plugins import climate, film, material
from drydown.sides.exposure import Outdoor
from drydown.sides.indoor import Indoor

#: The heating season, and the year that it belongs to.
SEASON = np.datetime64("2021-10-01"), np.datetime64("2022-04-01")
#: A hole of 1 cm2 in each board of 1.2 m by 2.4 m, as an orifice: discharge 0.6, air of 1.2 kg/m3.
HOLE = Leakage(0.6 * 1e-4 / (1.2 * 2.4) * (2.0 / 1.2) ** 0.5, 0.5)


class Season(NamedTuple):
    """What came from the room into the insulation in the season [kg/m2], and the sheathing's moisture [%]."""

    diffused: float
    carried: float
    wettest: float
    date: np.ndarray
    moisture: np.ndarray


def wall(covered: float) -> Assembly:
    """Return the wall, its retarder covering that share of the area."""
    parts: list[Any] = [
        Layer(material("spruce cladding"), 0.020),
        Layer(material("air gap 25 mm"), 0.025),
        film("weather-resistive membrane"),
        Layer(material("OSB"), 0.011),
        Layer(material("mineral wool"), 0.140),
        Layer(material("gypsum board"), 0.0125),
        film("latex paint"),
    ]
    if covered > 0.0:
        parts.insert(5, partly_covering(film("polyethylene 0.15 mm"), covered, parts[2:]))
    return Assembly(tuple(parts))


def season(covered: float, hole: bool) -> Season:
    """Run one variant from October for a year."""
    gap = VentilatedGap("air gap 25 mm", 20.0 / 3600.0)
    leak = AirLeak(HOLE, LeakPath(azimuth=0.0, height=1.0), "flow", "air gap 25 mm")
    case = Case(
        wall(covered),
        Outdoor(climate("fernmoor")),
        Indoor(),
        SEASON[0],
        np.datetime64("2022-10-01"),
        initial=Initial(283.15, 0.75),
        loads=(gap, leak) if hole else (gap,),
    )
    ds = simulate(case)
    end = ds.sel(time=SEASON[1], interface="inner face of mineral wool")
    sheathing = case.assembly.layers[2]
    moisture = 100.0 * ds["layer_water"].sel(layer="OSB").values / (sheathing.material.density * sheathing.thickness)
    return Season(
        -float(end["vapour_passed"]),
        -float(end["convected_vapour_passed"]),
        float(moisture.max()),
        ds["time"].values,
        moisture,
    )


#: name, share of the area that the retarder covers, whether air leaks.
VARIANTS = (
    ("retarder and air barrier whole", 1.0, False),
    ("retarder misses 5 % of the area", 0.95, False),
    ("no retarder", 0.0, False),
    ("both whole but for a hole of 1 cm² a board", 1.0, True),
)


def figure(seasons: list[Season]) -> Any:
    """Draw what came from the room, and what it made of the sheathing."""
    from drydown.figures import DASHED, DOTTED, INDIGO, INK, SOFT, SOLID, WINE
    from matplotlib.figure import Figure

    drawn = Figure(figsize=(9.6, 5.6))
    above, below = drawn.subplots(2, 1, height_ratios=(1.0, 1.25))
    drawn.subplots_adjust(left=0.31, right=0.965, top=0.91, bottom=0.07, hspace=0.42)
    looks = ((INK, DOTTED), (SOFT, SOLID), (INDIGO, DASHED), (WINE, SOLID))
    total = [s.diffused + s.carried for s in seasons]
    y = -np.arange(len(seasons))
    # a bar has no foot on a scale of tenfolds: a dot says where the value lies
    for place, value, (colour, _) in zip(y, total, looks, strict=True):
        above.plot([value], [place], "o", color=colour, markersize=9)
    above.set_xscale("log")
    above.set_xlim(0.01, 12.0)
    for place, (value, (_, _, leaks)) in enumerate(zip(total, VARIANTS, strict=True)):
        how = "by air" if leaks else "by diffusion"
        above.text(value * 1.18, y[place], f"{value:.2g} {how}", va="center", fontsize=9.5, color=INK)
    above.set_yticks(y, [name for name, _, _ in VARIANTS])
    above.set_title(
        "From the room into the wall, October to March [kg/m²]; each mark is tenfold", loc="left", fontsize=10.5
    )
    above.set_xticks([0.01, 0.1, 1.0, 10.0], ["0.01", "0.1", "1", "10"])
    for s, (colour, style) in zip(seasons, looks, strict=True):
        below.plot(s.date, s.moisture, color=colour, linestyle=style, linewidth=1.9)
    labels = (
        (0, "2022-01-05", -2.4, "retarder whole (dotted), or missing 5 %"),
        (2, "2022-03-10", 0.8, "no retarder"),
        (3, "2022-03-10", 0.8, "hole"),
    )
    for k, day, up, words in labels:
        when = np.datetime64(day)
        high = float(seasons[k].moisture[seasons[k].date >= when][0])
        below.text(when, high + up, words, ha="center", fontsize=9.5, color=looks[k][0])
    below.set_title("Water in the sheathing (OSB) [% of its dry mass]", loc="left", fontsize=10.5)
    below.set_ylim(0.0, 29.0)
    below.set_xlim(seasons[0].date[0], seasons[0].date[-1])
    ticks = np.arange("2021-10", "2022-11", dtype="datetime64[M]")
    below.set_xticks(ticks.astype("datetime64[ns]"), [*"ONDJFMAMJJAS", "O"])
    for axes in (above, below):
        axes.spines[["top", "right"]].set_visible(False)
        axes.tick_params(labelsize=9.5, color=INK)
    return drawn


if __name__ == "__main__":
    seasons = [season(covered, hole) for _, covered, hole in VARIANTS]
    for (name, _, _), s in zip(VARIANTS, seasons, strict=True):
        how = f"{s.diffused:.4f} kg/m2 by diffusion, {abs(s.carried):.3f} by air"
        print(f"{name}: {how}; sheathing up to {s.wettest:.1f} %")
    figure(seasons).savefig(sys.argv[1] if len(sys.argv) > 1 else "air_against_diffusion.png", dpi=130)
