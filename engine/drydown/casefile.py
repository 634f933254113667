"""The case file: a wall, its climate and what happens to it, written in TOML; read into a `Case`.

The keys are those of `drydown.casefile_schema`. Layers are listed from outside to inside; every value
states its unit; file names are seen from the case file; times are local standard time of the climate.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from .assembly import Assembly
from .case import Case, Chamber, Initial, Numerics, Side
from .casefile_layers import own_entries, read_layers, read_wetting
from .casefile_schema import CATALOGUE, LISTS, ONCE, SECTIONS, explain_toml, read_section, within
from .errors import InputError, nearest

if TYPE_CHECKING:
    from .climate import Climate

Given = dict[str, Any]

#: Keys whose field in the inputs has another name.
_FIELDS = {"faces": "azimuth", "heat_transfer": "convection", "class": "number"}
#: Longest period that is taken for meant.
LONGEST = np.timedelta64(73050, "D")


def read_case(path: str | Path) -> Case:
    """Read a case file.

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    Case

    Raises
    ------
    InputError
        Naming the file, the section and the key, and what would be right.
    """
    path = Path(path)
    return case_of(load(path), path)


def case_of(data: Given, path: Path, kept: dict[Any, Any] | None = None) -> Case:
    """Return the case of a file that is loaded already.

    Parameters
    ----------
    data : dict
        What `load` returns, changed or not.
    path : Path
        The file it came from: file names are seen from it, errors name it.
    kept : dict, optional
        Weather and own materials that were read before for this file; what is read now is added. Many
        variants of one file share them through it.

    Raises
    ------
    InputError
        As `read_case`.
    """
    kept = {} if kept is None else kept
    file = str(path)
    for name in data:
        if name not in (*ONCE, *LISTS, *CATALOGUE, *SECTIONS["case"]):
            known = (*ONCE, *LISTS, *CATALOGUE, *SECTIONS["case"])
            raise InputError(f"'{name}' is not known here; {nearest(name, known)}", file)
    top = read_section({k: v for k, v in data.items() if k in SECTIONS["case"]}, "case", file)
    given = {name: _section(data, name, file) for name in ONCE}
    start, end = _period(given["period"], f"{file}, period")
    own = own_entries(data, top.get("catalogues", ()), path)
    built = kept.setdefault(("entries", *(repr(data.get(k)) for k in (*CATALOGUE, "catalogues"))), {})
    parts, humidity = read_layers(_tables(data, "layer", file), own, file, built)
    title = top.get("title", path.stem)
    with within(file):
        assembly = Assembly(parts, title)
    wettings = tuple(
        read_wetting(table, f"{file}, wetting {i}", assembly, start, end)
        for i, table in enumerate(_tables(data, "wetting", file), 1)
    )
    outside = _outside(given["outside"], given["climate"], path, kept)
    inside = _inside(given["inside"], f"{file}, inside")
    with within(f"{file}, start"):
        initial = Initial(**given["start"], layers=humidity)
    with within(file):
        numerics = Numerics(**given["numerics"])
        return Case(assembly, outside, inside, start, end, wettings, initial, numerics=numerics, name=title)


def load(path: Path) -> Given:
    """Return the sections of a case file as TOML gives them."""
    if path.is_dir():
        raise InputError("is a folder; name the case file in it", str(path))
    if not path.is_file():
        names = [p.name for p in path.parent.glob("*.toml")] if path.parent.is_dir() else []
        hint = nearest(path.name, names) if names else "`drydown new` writes one to start from"
        raise InputError(f"there is no such case file; {hint}", str(path))
    try:
        with path.open("rb") as stream:
            return tomllib.load(stream)
    except OSError as error:
        raise InputError(f"cannot be read: {error.strerror}", str(path)) from None
    except UnicodeDecodeError:
        raise InputError("is no UTF-8 text; a case file is plain text in TOML", str(path)) from None
    except tomllib.TOMLDecodeError as error:
        raise explain_toml(path, error) from None


def _section(data: Given, name: str, file: str) -> Given:
    table = data.get(name, {})
    if name == "period" and not table:
        raise InputError("[period] is missing, such as start = 2021-10-01 and years = 2", file)
    if isinstance(table, list):
        raise InputError(f"it stands once, as [{name}], not as [[{name}]]", f"{file}, {name}")
    return read_section(table, name, f"{file}, {name}")


def _tables(data: Given, name: str, file: str) -> list[Given]:
    tables = data.get(name, [])
    if not isinstance(tables, list):
        raise InputError(f"write [[{name}]], with two brackets, above each one", f"{file}, {name}")
    return tables


def _period(given: Given, where: str) -> tuple[np.datetime64, np.datetime64]:
    start: np.datetime64 = given["start"]
    ways = [k for k in ("end", "years", "days") if k in given]
    if len(ways) != 1:
        what = f"{' and '.join(ways)} are both there" if ways else "no end is given"
        raise InputError(f"{what}; give one of end, years and days, such as years = 2", where)
    if "end" in given:
        end = given["end"]
    elif "days" in given:
        end = start + np.timedelta64(given["days"], "D")
    else:
        month = start.astype("datetime64[M]")
        later = (month + np.timedelta64(12 * given["years"], "M")).astype("datetime64[s]")
        end = later + (start - month.astype("datetime64[s]"))
    if not end > start:
        raise InputError(f"{end} is not after the start {start}", f"{where}, {ways[0]}")
    if end - start > LONGEST:
        raise InputError("the period is longer than 200 years; choose a shorter one", f"{where}, {ways[0]}")
    return start, end


def _outside(given: Given, climate: Given, path: Path, kept: dict[Any, Any]) -> Side:
    from .driving_rain import OpenField
    from .exposure import Exposure, Outdoor

    where = f"{path}, outside"
    keys = {_FIELDS.get(k, k): v for k, v in given.items() if k != "model"}
    with within(where):
        if given.get("model") == "constant":
            if climate:
                raise InputError("the outside is constant; leave out [climate]", where)
            return Chamber(**keys)
        factors = {
            k.removeprefix("rain_"): keys.pop(k) for k in ("rain_exposure", "rain_deposition") if k in keys
        }
        exposure = Exposure(rain=OpenField(**factors), **keys)
    return Outdoor(_climate(climate, path, kept), exposure, climate.get("repeat"))


def _climate(given: Given, path: Path, kept: dict[Any, Any]) -> Climate:
    from . import plugins
    from .weather_files import read_weather

    where = f"{path}, climate"
    if ("name" in given) == ("file" in given):
        what = "name and file are both there; give one" if "name" in given else "no climate is given"
        raise InputError(f'{what}, such as name = "fernmoor" or file = "weather.epw"', where)
    if "name" in given:
        return plugins.climate(given["name"], f"{where}, name")
    key = "weather", given["file"]
    if key not in kept:
        with within(f"{where}, file"):
            kept[key] = read_weather(path.parent / given["file"])
    return kept[key]


def _inside(given: Given, where: str) -> Side:
    from . import indoor

    keys = {_FIELDS.get(k, k): v for k, v in given.items() if k != "model"}
    film = {k: keys.pop(k) for k in ("convection", "vapour_transfer") if k in keys}
    models: dict[str, Any] = {
        "constant": indoor.Constant,
        "normal occupancy": indoor.FromOutdoor,
        "high occupancy": lambda **k: indoor.FromOutdoor(high_occupancy=True, **k),
        "humidity class": indoor.HumidityClass,
        "annual": indoor.AnnualSine,
        "air conditioned": indoor.AirConditioned,
    }
    with within(where):
        return indoor.Indoor(models[given.get("model", "normal occupancy")](**keys), **film)
