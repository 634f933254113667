"""The one family of errors that a user can cause and mend."""

from __future__ import annotations

import difflib
import warnings
from collections.abc import Iterable, Mapping
from numbers import Real
from typing import Any


def _printable(text: str) -> str:
    """Return a text without what would break its line or steer a terminal: it may quote a file of anyone's."""
    return text if text.isprintable() else "".join(c if c.isprintable() else " " for c in text)


#: Most letters of a message: what it quotes of a file may be longer than a screen.
_LONGEST = 1200


def _bearable(text: str) -> str:
    """Return a text with its middle left out where it is too long: its beginning says what, its end what to do."""
    return text if len(text) <= _LONGEST else f"{text[: _LONGEST // 2]} [...] {text[-_LONGEST // 2 :]}"


class InputError(ValueError):
    """Something given to drydown cannot be used.

    The message is one line: where, what is wrong, what would be right.

    Parameters
    ----------
    message : str
        What is wrong and what would be right.
    where : str, optional
        File and key, layer, or argument the message is about.
    """

    def __init__(self, message: str, where: str = "") -> None:
        self.message = _bearable(" ".join(_printable(message).split()))
        self.where = _bearable(_printable(where))
        super().__init__(f"{self.where}: {self.message}" if where else self.message)

    def at(self, where: str) -> InputError:
        """Return the same error with `where` put in front of what it already says.

        Parameters
        ----------
        where : str
            What is put in front.
        """
        inner = f"{where}: {self.where}" if self.where else where
        return InputError(self.message, inner)


def shown(value: Any) -> str:
    """Return what was handed in, for a message: itself where it is short, its type where it is not."""
    text = repr(value)
    return text if len(text) <= 40 and "\n" not in text else f"of type {type(value).__name__}"


def is_number(value: Any) -> bool:
    """Return whether a value is a plain number: no bool, no text, no array of many."""
    return isinstance(value, Real) and not isinstance(value, bool)  # that of numpy is no Real


def need(value: Any, kind: type | tuple[type, ...], what: str, right: str, where: str) -> None:
    """Raise InputError unless a value is of a type.

    Parameters
    ----------
    value : object
    kind : type or tuple of type
    what : str
        What the value is called.
    right : str
        What would be right, such as ``"a number in metres"``.
    where : str
    """
    if not isinstance(value, kind):
        raise InputError(f"{what} is {shown(value)}; {right} is needed", where)


def need_number(value: Any, what: str, where: str, unit: str = "") -> None:
    """Raise InputError unless a value is a plain number; a text or a list is none, nor is True."""
    if not is_number(value):
        of = f" [{unit}]" if unit else ""
        raise InputError(f"{what} is {shown(value)}; a number{of} is needed", where)


class Renamed(FutureWarning):
    """A name that still works and is now called otherwise; shown to users, unlike other warnings of its kind."""


def renamed(data: dict[str, Any], names: Mapping[str, str], where: str) -> dict[str, Any]:
    """Return a table with old keys under their new names, each with a word that names the new key.

    Raises
    ------
    InputError
        Both names of a key stand there.
    """
    for old in (k for k in names if k in data):
        if names[old] in data:
            raise InputError(f"'{old}' and '{names[old]}' are one key; leave out '{old}'", where)
        warnings.warn(f"{where}: the key '{old}' is now called '{names[old]}'", Renamed, stacklevel=2)
    return {names.get(k, k): v for k, v in data.items()}


def nearest(name: str, known: Iterable[str], most: int = 3) -> str:
    """Return a sentence with the nearest known names, or with all of them where none is near."""
    names = sorted(known)
    by_lower: dict[str, str] = {}
    for n in names:
        by_lower.setdefault(n.lower(), n)
    close = [by_lower[c] for c in difflib.get_close_matches(name.lower(), by_lower, most, 0.55)]
    if close:
        return "did you mean " + " or ".join(repr(c) for c in close) + "?"
    if not names:
        return "none is known"
    shown = ", ".join(repr(n) for n in names[:12])
    return f"known: {shown}" + (f" and {len(names) - 12} more" if len(names) > 12 else "")
