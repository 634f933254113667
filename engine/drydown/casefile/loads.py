"""Loads and start of a case file, read and written: wettings, leaking air, gaps, rain that gets in; a profile."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np

from ..case.assembly import Assembly
from ..case.profile import Profile
from ..case.sides import Side
from ..case.wetting import Wetting
from ..errors import InputError, nearest
from .schema import SECTIONS, loads
from .values import read_section, stated, within, write_section

if TYPE_CHECKING:
    from ..case.load import Load

Given = dict[str, Any]
Period = tuple[np.datetime64, np.datetime64]


def check_layer(name: str, assembly: Assembly, where: str) -> None:
    """Raise InputError unless a layer with a thickness has that name."""
    names = [layer.name for layer in assembly.layers]
    if name in (film.name for film in assembly.films):
        raise InputError(f"'{name}' is a film, which holds no water; {nearest('', names)}", f"{where}, layer")
    if name not in names:
        raise InputError(f"no layer is called '{name}'; {nearest(name, names)}", f"{where}, layer")


def read_wetting(table: Given, where: str, assembly: Assembly, period: Period) -> Wetting:
    """Read one wetting, the first of which must lie in the period."""
    given = read_section(table, "wetting", where)
    name = given["layer"]
    check_layer(name, assembly, where)
    if not given["amount"] > 0.0:
        message = f"{table['amount']!r}: it must be greater than 0, such as '2 kg/m2'"
        raise InputError(message, f"{where}, amount")
    given["start"] = given.pop("date")
    with within(where):
        wetting = Wetting(**given)
    if wetting.start < period[0] or wetting.start + np.timedelta64(round(wetting.duration), "s") > period[1]:
        text = f"{str(period[0])[:10]} to {str(period[1])[:10]}"
        raise InputError(f"the wetting of '{name}' must lie within the period, {text}", f"{where}, date")
    return wetting


def read_profile(tables: Sequence[Given], start: Given, file: str) -> Profile | None:
    """Read the points of a profile that the run starts from; None where there are none."""
    if not tables:
        return None
    for key in start:
        raise InputError(f"[start] states '{key}' and [[profile]] does as well; give one", f"{file}, start, {key}")
    points = [read_section(table, "profile", f"{file}, profile {i}") for i, table in enumerate(tables, 1)]
    for i, (before, point) in enumerate(pairwise(points), 2):
        if not point["depth"] > before["depth"]:
            raise InputError(
                "it lies no deeper than the point before; write them from outside to inside",
                f"{file}, profile {i}, depth",
            )
    with within(f"{file}, profile"):
        return Profile(*(tuple(point[key] for point in points) for key in ("depth", "temperature", "humidity")))


def write_profile(profile: Profile | None) -> list[str]:
    """Return the points of a profile as text."""
    if profile is None:
        return []
    rows = zip(profile.depth, profile.temperature, profile.humidity, strict=True)
    return [write_section("[[profile]]", {"depth": x, "temperature": t, "humidity": h}, "profile") for x, t, h in rows]


def read_load(kind: str, table: Given, where: str, assembly: Assembly, outside: Side) -> Load:
    """Read one load by the keys that its class brings."""
    given = read_section(table, kind, where)
    if given.get("layer"):
        check_layer(given["layer"], assembly, where)
    try:
        with within(where):
            return loads()[kind].from_keys(given, assembly, outside)
    except InputError as error:
        key = error.where.removeprefix(f"{where}: ")
        raise (InputError(error.message, f"{where}, {key}") if key in SECTIONS[kind] else error) from None


def write_wetting(wetting: Wetting) -> str:
    """Return a wetting as text."""
    keys = {"layer": wetting.layer, "amount": wetting.amount, "date": wetting.start}
    return write_section("[[wetting]]", keys | stated(wetting, "wetting"), "wetting")


def write_load(load: Load, outside: Side) -> str:
    """Return a load as text."""
    kind = next((name for name, made in loads().items() if made is type(load)), None)
    if kind is None:
        raise InputError(
            "no section of a case file states it; register its class (docs/extending.md)", f"'{load.label}'"
        )
    section = kind
    if load.section.chooser:
        section = f"{kind} {getattr(load, load.section.chooser)}"
    fields = {k: v for name in {kind: 0, section: 0} for k, v in stated(load, name).items() if v != ""}
    return write_section(f"[[{kind}]]", load.to_keys(fields, outside), section)
