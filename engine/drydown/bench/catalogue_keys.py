"""The parameters of a curve as the keys of a catalogue or a case file."""

from __future__ import annotations

from collections.abc import Mapping

_KINDS = {"closed": "p", "open": "p", "dry": "p", "rise": "p", "growth": "n"}
_WORDS = {"p": '"{:.4g} ng/(Pa s m2)"', "n": "{:.4g}", "h": '"{:.4g} %"'}
_SCALE = {"p": 1e12, "n": 1.0, "h": 100.0}


def curve_keys(family: str, parameters: Mapping[str, float]) -> str:
    """Return the keys that give a curve of a family, in one line.

    Parameters
    ----------
    family : str
        Of `FAMILIES`.
    parameters : mapping of str to float
        As a person reads them, SI.
    """
    p = parameters
    if family == "constant":
        return f'permeance = "{1e12 * p["value"]:.4g} ng/(Pa s m2)"'
    if family == "spline":
        humidity = " ".join(key.removeprefix("at ").removesuffix(" %") for key in p)
        permeance = " ".join(f"{1e12 * v:.4g}" for v in p.values())
        return f'humidity = "{humidity} %", permeance = "{permeance} ng/(Pa s m2)"'
    parts = [f'family = "{family}"']
    for key, value in p.items():
        kind = _KINDS.get(key, "h")
        parts.append(f"{key} = {_WORDS[kind].format(_SCALE[kind] * value)}")
    return ", ".join(parts)
