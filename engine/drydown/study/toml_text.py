"""A document of plain values written as TOML, which the standard library only reads."""

from __future__ import annotations

import datetime
import re
from typing import Any

from ..toml import quoted

_BARE = re.compile(r"[A-Za-z0-9_-]+")


def _key(name: str) -> str:
    return name if _BARE.fullmatch(name) else quoted(name)


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, datetime.datetime):
        return value.isoformat(sep=" ")
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_value(v) for v in value) + "]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_key(k)} = {_value(v)}" for k, v in value.items()) + " }"
    raise TypeError(f"{type(value).__name__} cannot be written as TOML")


def _is_tables(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(v, dict) for v in value)


def _table(table: dict[str, Any], prefix: str, out: list[str]) -> None:
    for name, value in table.items():
        if not isinstance(value, dict) and not _is_tables(value):
            out.append(f"{_key(name)} = {_value(value)}")
    for name, value in table.items():
        full = f"{prefix}.{_key(name)}" if prefix else _key(name)
        if isinstance(value, dict):
            out += ["", f"[{full}]"]
            _table(value, full, out)
        elif _is_tables(value):
            for item in value:
                out += ["", f"[[{full}]]"]
                _table(item, full, out)


def toml_text(document: dict[str, Any]) -> str:
    """Return a document as TOML; reading it gives the same values in the same order of sections.

    Parameters
    ----------
    document : dict
        Of text, numbers, dates, lists and tables.
    """
    out: list[str] = []
    _table(document, "", out)
    return "\n".join(out).lstrip("\n") + "\n"
