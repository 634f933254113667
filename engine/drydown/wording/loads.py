"""What each load of a run brought or took away, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..text import paragraph, plain

if TYPE_CHECKING:
    import xarray as xr


def brought(results: xr.Dataset) -> list[str]:
    """Return what loads and air flow brought into the wall by the end of a run, one line each; empty without any."""
    lines = []
    for name, water, refused in zip(
        (str(x) for x in results["load"].values),
        results["load_water"].values[-1],
        results["load_refused"].values[-1],
        strict=True,
    ):
        if name == "none" or (water == 0.0 and refused == 0.0 and name.startswith("air flow")):
            continue  # a flow that crosses the whole wall ends nowhere in it
        text = f"{name}: " + (f"took {plain(-water)}" if water < 0.0 else f"brought {plain(water)}") + " kg/m2"
        text += f"; {plain(refused)} kg/m2 found no room and ran off" if refused > 0.0 else ""
        lines.append(text)
    for side, sign, where in (("outer surface", 1.0, "outside"), ("inner surface", -1.0, "the room")):
        carried = sign * float(results["convected_vapour_passed"].sel(interface=side).values[-1])
        if carried != 0.0:
            way = f"from {where}" if carried > 0.0 else f"to {where}"
            lines.append(f"air flow: carried {plain(abs(carried))} kg/m2 {way}")
    return [paragraph(line) for line in ["Loads, by the end of the run:", *(f"  {x}" for x in lines)]] if lines else []
