"""TOML files read with bounds: what a file of a person never needs is refused before it costs memory or time."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

from .errors import InputError

#: Largest file [bytes], deepest nesting of brackets and of keys, most digits of a number.
SIZE, DEPTH, DIGITS = 4_000_000, 24, 40
#: Whole numbers beyond this are in no file for a reason.
GREATEST = 2**53

#: Texts and notes: what stands in quotes, and what follows a #.
TEXTS = re.compile(r'"""(?:[^\\]|\\.)*?"""|\'\'\'.*?\'\'\'|"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'|#[^\n]*', re.DOTALL)
Explain = Callable[[Path, Exception], InputError]


def read_text(path: Path, size: int = SIZE) -> str:
    """Return the text of a plain file in UTF-8, with or without a byte order mark.

    Raises
    ------
    InputError
        It cannot be read, is no plain file, too large or no text.
    """
    if not path.is_file():
        if path.is_dir():
            raise InputError("is a folder; name a file in it", str(path))
        if path.is_symlink():
            raise InputError("is a link that leads to no file", str(path))
        if path.exists():
            raise InputError("is no plain file, but a device or a pipe; name a file", str(path))
        raise InputError("there is no such file", str(path))
    try:
        if path.stat().st_size > size:
            raise InputError(f"is larger than {size / 1e6:g} MB; no file of this kind needs that", str(path))
        return path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise InputError(f"cannot be read: {error.strerror}", str(path)) from None
    except UnicodeDecodeError:
        raise InputError("is no UTF-8 text; it must be plain text in TOML", str(path)) from None


def read_toml(path: Path, explain: Explain | None = None) -> dict[str, Any]:
    """Return the tables of a TOML file.

    Parameters
    ----------
    path : Path
    explain : callable, optional
        Makes an error that a builder understands of one of the reader.

    Raises
    ------
    InputError
        As `read_text`; no TOML; nested too deeply; numbers of too many digits.
    """
    return parse_toml(read_text(path), str(path), None if explain is None else lambda error: explain(path, error))


def parse_toml(text: str, where: str, explain: Callable[[Exception], InputError] | None = None) -> dict[str, Any]:
    """Return the tables of a text in TOML; `where` names it in errors.

    Raises
    ------
    InputError
        No TOML, nested too deeply, or numbers of too many digits.
    """
    check_bounds(text, where)
    try:
        found = tomllib.loads(text.replace("\r\n", "\n"))
    except RecursionError:
        raise InputError("is nested too deeply", where) from None
    except ValueError as error:  # of TOML, and of dates that do not exist in some versions of the reader
        raise (explain(error) if explain is not None else InputError(f"is no valid TOML: {error}", where)) from None
    _check_values(found, where)
    return found


def quoted(text: str) -> str:
    """Return a text as a basic string of TOML, on one line whatever is in it."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def one_line(text: object) -> str:
    """Return a text for a comment or a heading: on one line, without control characters."""
    return " ".join("".join(c if c.isprintable() else " " for c in str(text)).split())


def check_bounds(text: str, where: str) -> None:
    """Refuse a text whose reading would cost far more than its size: nesting, long keys, long numbers."""
    bare = TEXTS.sub(lambda m: '""' if m[0][0] != "#" else "", text)
    depth = 0
    for match in re.finditer(r"[\[\]{}]", bare):
        depth = depth + 1 if match[0] in "[{" else max(0, depth - 1)
        if depth > DEPTH:
            line = bare.count("\n", 0, match.start()) + 1
            raise InputError(f"more than {DEPTH} brackets are open at once; write it flatter", f"{where}, line {line}")
    for number, row in enumerate(bare.splitlines(), 1):
        if row.count(".") < DEPTH and len(row) <= DIGITS:
            continue
        joined = re.sub(r"\s*\.\s*", ".", row)
        for word in re.split(r"[\s=,\[\]{}]+", joined):
            if word.count(".") >= DEPTH and not word[:1].isdigit():
                raise InputError(f"a key has more than {DEPTH} parts", f"{where}, line {number}")
            if len(word) > DIGITS and re.fullmatch(r"[-+]?[\d_xobA-Fa-f]+", word):
                raise InputError(f"a number has more than {DIGITS} digits", f"{where}, line {number}")


def _check_values(found: dict[str, Any], where: str) -> None:
    """Refuse whole numbers that no computer holds exactly, and nesting that came in some other way."""
    waiting: list[tuple[Any, int]] = [(found, 0)]
    while waiting:
        value, depth = waiting.pop()
        if depth > 2 * DEPTH:
            raise InputError("is nested too deeply", where)
        if isinstance(value, dict):
            waiting += [(v, depth + 1) for v in value.values()]
        elif isinstance(value, list):
            waiting += [(v, depth + 1) for v in value]
        elif isinstance(value, int) and not isinstance(value, bool) and abs(value) > GREATEST:
            raise InputError(f"the number {value} is too great", where)
