"""Entries of a catalogue file that are like another one: of the same file, or one that is installed."""

from __future__ import annotations

from typing import Any

from ..errors import InputError, nearest, renamed
from .table import Given, Table

#: Keys that tell of an entry, not of one of its properties.
_ABOUT = ("like", "source", "tags", "aliases", "humidity_range", "thickness", "spread", "unusual", "mould_class")
#: Keys that had another name until version 0.1: old, new. They still work, with a word.
RENAMED = {
    "storage_temperature": "sorption_temperature_exponent",
    "conductivity_slope": "conductivity_temperature_coefficient",
    "reverse": "permeance_outward",
}


def whole_table(tables: dict[str, Any], name: str, where: str, kind: str = "") -> dict[str, Any]:
    """Return a table together with what it takes over from the one it is like.

    Parameters
    ----------
    tables : dict
        All tables of a kind in the file.
    name, where : str
    kind : {'', 'material', 'film'}
        What an installed entry must be.

    Raises
    ------
    InputError
        If there is no such entry, or it cannot be taken over.
    """
    table = _named_anew(Table.of(tables[name], where).data, where)
    if "like" not in table:
        return table
    base = str(table["like"])
    own = {key: value for key, value in table.items() if key != "like"}
    if base not in tables or base == name:
        return _like_installed(own, base, set(tables) - {name}, where, kind)
    if "like" in Table.of(tables[base], where).data:
        raise InputError(f"like = {base!r}, which is itself like another; name that one", where)
    kept = {k: v for k, v in _named_anew(tables[base], where).items() if k != "aliases"}
    for key in ("source", "spread"):
        if isinstance(kept.get(key), dict) and isinstance(own.get(key), dict):
            own[key] = kept[key] | own[key]
    return kept | own


def _named_anew(table: dict[str, Any], where: str) -> dict[str, Any]:
    """Return a table with today's names of its keys, among them those of its sources and spreads."""
    table = renamed(table, RENAMED, where)
    for key in ("source", "spread"):
        if isinstance(table.get(key), dict):
            table = table | {key: renamed(table[key], RENAMED, f"{where}, {key}")}
    return table


def _like_installed(own: dict[str, Any], base: str, near: set[str], where: str, kind: str) -> dict[str, Any]:
    """Return own keys with those of an installed entry; what is not taken over loses its source and spread."""
    data, known = _installed(base, near, where, kind)
    changed = [key for key in own if key not in _ABOUT]
    properties = [key for key in data if key not in _ABOUT]
    source = data.get("source", {})
    if not isinstance(source, dict):
        source = dict.fromkeys(properties, source)
    sources = {
        key: [known[k] for k in (keys if isinstance(keys, list) else [keys])]
        for key, keys in source.items()
        if key not in changed
    }
    given = {"authors": "given with the entry", "where": f"like '{base}'", "kind": "assumed"}
    mine = own.get("source", given)
    sources |= mine if isinstance(mine, dict) and "authors" not in mine else dict.fromkeys(changed, mine)
    spread = {key: pair for key, pair in data.get("spread", {}).items() if key not in changed}
    own_spread = own.get("spread", {})
    kept = {key: value for key, value in data.items() if key != "aliases"}
    if not spread and not own_spread:
        sources.pop("spread", None)
    if isinstance(own_spread, dict):
        own_spread = spread | own_spread
    return kept | own | {"source": sources, "spread": own_spread}


def _installed(base: str, near: set[str], where: str, kind: str) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return the table of an installed entry and the sources it names."""
    from ..plugins import materials

    registry = materials()
    try:
        entry = registry.get_entry(base)
    except InputError:
        raise InputError(f"like = {base!r}; {nearest(base, near | set(registry))}", where) from None
    plugin, _, rest = base.partition(":")
    home = plugin if rest in registry.plugins.get(plugin, ()) else registry.home(entry.name)
    given = registry.plugins[home].get(entry.name)
    if not isinstance(given, Given):
        message = f"like = {base!r}, which is written in Python; only an entry of a catalogue file can be taken over"
        raise InputError(message, where)
    if kind and given.kind != kind:
        raise InputError(f"like = {base!r}, which is a {given.kind}; a {kind} is needed", where)
    return given.data, given.known
