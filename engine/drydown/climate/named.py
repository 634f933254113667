"""The weather of a place by name: climates that plugins bring."""

from __future__ import annotations

from .. import plugins
from ..errors import InputError
from .model import Climate


def weather(name: str, where: str = "") -> Climate:
    """Return a climate by name or ``"plugin:name"``.

    Parameters
    ----------
    name : str
        As `drydown climates` lists them.
    where : str, optional
        Where the name stands, for the message.

    Raises
    ------
    InputError
        If nothing has that name, or what a plugin has under it is no climate.
    """
    found = plugins.climate(name, where)
    if not isinstance(found, Climate):
        raise InputError(f"'{name}' is no climate but of type {type(found).__name__}; tell its plugin", where)
    return found
