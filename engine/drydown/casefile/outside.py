"""The climate and the outer side of a case file, read and written."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..case.sides import Chamber, Side
from ..errors import InputError
from .schema import FIELDS
from .values import stated, within, write_section

if TYPE_CHECKING:
    from ..climate.model import Climate

Given = dict[str, Any]
Kept = dict[Any, Any]


def read_outside(given: Given, climate: Given, path: Path, kept: Kept) -> Side:
    """Return the outer side of the sections [outside] and [climate] of a case file at `path`.

    What is read from files is kept in `kept` and taken from there the next time.
    """
    from ..climate.shading import Shading
    from ..sides.exposure import Exposure, Outdoor

    where = f"{path}, outside"
    model = given.get("model", "weather")
    keys = {k: v for k, v in given.items() if k != "model"}
    if model == "constant":
        with within(where):
            if climate:
                raise InputError("the outside is constant; leave out [climate]", where)
            return read_chamber(keys)
    if model == "ground":
        weather = read_climate(climate, path, kept) if climate else None
        if weather is not None and "repeat" in climate:
            weather = replace(weather, cyclic=climate["repeat"])
        return _ground(keys, weather, where)
    if model == "slab":
        return _slab(keys, climate, path, kept, where)
    with within(where):
        if "overhang_height" in keys and "overhang" not in keys:
            raise InputError("overhang_height is there, but no overhang", where)
        shading = Shading(**{k: keys.pop(k) for k in ("horizon", "overhang", "overhang_height") if k in keys})
        rain = _rain({k: keys.pop(k) for k in list(keys) if k.startswith("rain_")}, where)
        exposure = Exposure(rain=rain, shading=shading, **{FIELDS.get(k, k): v for k, v in keys.items()})
    weather = read_climate(climate, path, kept, exposure.azimuth)
    return Outdoor(weather, exposure, climate.get("repeat"))


def read_chamber(given: Given) -> Chamber:
    """Return a chamber of its keys."""
    return Chamber(**{FIELDS.get(k, k): v for k, v in given.items()})


def _rain(given: Given, where: str) -> Any:
    from ..climate.driving_rain import HourlyIndex, OpenField

    model = given.pop("rain_model", "open field")
    made = OpenField if model == "open field" else HourlyIndex
    known = [k for k, f in FIELDS.items() if k.startswith("rain_") and f in made.__dataclass_fields__]
    for key in given:
        if key not in known:
            raise InputError(
                f"the rain_model '{model}' does not read it; it reads {', '.join(known)}", f"{where}, {key}"
            )
    return made(**{FIELDS[k]: v for k, v in given.items()})


def _ground(keys: Given, climate: Climate | None, where: str) -> Side:
    from ..sides import ground

    if "soil" in keys and "diffusivity" in keys:
        raise InputError("soil and diffusivity are both there; give one", where)
    if "soil" in keys:
        keys["diffusivity"] = getattr(ground, keys.pop("soil").upper())
    if "vapour_transfer" in keys and "conductance" not in keys:
        raise InputError("vapour_transfer is of a layer between; give its conductance too", where)
    with within(where):
        return ground.Ground(climate, **keys)


def _slab(keys: Given, given: Given, path: Path, kept: Kept, where: str) -> Side:
    from ..sides.ground_slab import SlabOnGround

    if not given:
        raise InputError('a slab loses heat to the outdoors; give [climate], such as name = "fernmoor"', where)
    weather = read_climate(given, path, kept)
    if "repeat" in given:
        weather = replace(weather, cyclic=given["repeat"])
    with within(where):
        return SlabOnGround(weather, **keys)


def read_climate(given: Given, path: Path, kept: Kept, azimuth: float | None = None) -> Climate:
    """Return the weather of the section [climate]; `azimuth` [degree] is where the surface faces, if it does."""
    from .. import plugins
    from ..climate.weather.files import read_weather
    from ..climate.weather.severe_year import chosen_years, named_indices, severe_year

    where = f"{path}, climate"
    if ("name" in given) == ("file" in given):
        what = "name and file are both there; give one" if "name" in given else "no climate is given"
        raise InputError(f'{what}, such as name = "fernmoor" or file = "weather.epw"', where)
    if "percentile" in given and "severe" not in given:
        raise InputError("percentile is there, but severe, the index of the year, is not", where)
    if "name" in given:
        climate: Climate = plugins.climate(given["name"], f"{where}, name")
    else:
        key: tuple[Any, ...] = "weather", given["file"]
        if key not in kept:
            with within(f"{where}, file"):
                kept[key] = read_weather(path.parent / given["file"])
        climate = kept[key]
    if "years" in given:
        with within(f"{where}, years"):
            climate = chosen_years(climate, *given["years"])
    if "severe" in given:
        key = "severe", *(given.get(k) for k in ("name", "file", "years", "severe", "percentile")), azimuth
        if key in kept:
            climate = kept[key]
            return climate
        with within(f"{where}, severe"):
            index = named_indices(given["severe"], azimuth)
            climate = kept[key] = severe_year(climate, index, given.get("percentile", 90.0))
    return climate


def write_outside(side: Side, path: Path) -> list[str]:
    """Return the sections [climate] and [outside]; weather that is not installed is written beside `path`."""
    from ..sides.exposure import Outdoor
    from ..sides.ground import Ground
    from ..sides.ground_slab import SlabOnGround

    if isinstance(side, Chamber):
        keys: Given = {"model": "constant", **stated(side, "outside constant")}
        return [write_section("[outside]", keys, "outside constant")]
    if isinstance(side, Ground):
        keys = {"model": "ground", **stated(side, "outside ground")}
        weather = [] if side.climate is None else [_write_climate(side.climate, None, path)]
        return [*weather, write_section("[outside]", keys, "outside ground")]
    if isinstance(side, SlabOnGround):
        keys = {"model": "slab", **stated(side, "outside slab")}
        return [_write_climate(side.climate, None, path), write_section("[outside]", keys, "outside slab")]
    if isinstance(side, Outdoor):
        return [_write_climate(side.climate, side.cyclic, path), _write_weather(side)]
    raise InputError(f"an outer side of the kind {type(side).__name__} cannot be written", str(path))


def _write_weather(side: Any) -> str:
    from ..climate.driving_rain import HourlyIndex, OpenField

    e = side.exposure
    keys = {"orientation": e.azimuth, **stated(e, "outside weather"), **stated(e.shading, "outside weather")}
    if type(e.rain) not in (OpenField, HourlyIndex):
        raise InputError(f"driving rain of the kind {type(e.rain).__name__} cannot be written", "outside")
    if isinstance(e.rain, HourlyIndex):
        keys["rain_model"] = "hourly index"
    keys |= stated(e.rain, "outside weather")
    if not e.shading.overhang:
        keys.pop("overhang_height", None)
    return write_section("[outside]", keys, "outside weather")


def _write_climate(climate: Climate, cyclic: bool | None, path: Path) -> str:
    """Return [climate]: by name where it is installed as it is, else by a netCDF file beside the case file."""
    from .. import plugins
    from ..climate.weather.files import write_weather

    installed = plugins.climates()
    if climate.name in installed and installed[climate.name] is climate:
        keys: Given = {"name": climate.name}
    else:
        beside = path.with_name(f"{path.stem}_climate.nc")
        write_weather(climate, beside)
        keys = {"file": beside.name}
    if cyclic is not None:
        keys["repeat"] = cyclic
    return write_section("[climate]", keys, "climate")
