"""Times as people hand them in, with a zone or without, as local standard time.

The engine knows local standard time of the climate alone. A time with a zone is converted, never stripped of it.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Sequence
from typing import Any

import numpy as np

from .arrays import Marks
from .errors import InputError

_OFFSET = re.compile(r"\d\d(?:\.\d+)?(Z|[+-]\d\d:?\d\d)$")


def zone_of(given: Any) -> str:
    """Return the zone of a time or of many; empty where there is none.

    Parameters
    ----------
    given : str, datetime, datetime64, Timestamp, or an index, a series, a list or an array of them

    Raises
    ------
    ValueError
        If some have a zone and some have none.
    """
    if isinstance(given, str):
        found = _OFFSET.search(given) if ":" in given else None
        return found[1] if found else ""
    if isinstance(given, datetime.datetime):
        return str(given.tzinfo or "")
    tz = getattr(given, "tz", None) or getattr(getattr(given, "dt", None), "tz", None)
    if tz is not None:
        return str(tz)
    if isinstance(given, Sequence) or (isinstance(given, np.ndarray) and given.dtype.kind in "OU"):
        zones = [zone_of(each) for each in given]
        if any(zones) and not all(zones):
            raise ValueError("some times have a zone and some have none")
        return zones[0] if zones else ""
    return ""


def local_times(given: Any, utc_offset: float | None, where: str) -> Marks:
    """Return times as datetime64[s] in local standard time.

    Parameters
    ----------
    given : time or times
        As for `zone_of`; without a zone they are local standard time already.
    utc_offset : float or None
        Of local standard time [h]; None: not known, and a time with a zone is refused.
    where : str
        What they are, for the message.

    Returns
    -------
    array of datetime64[s]
        Of no dimension for one time.

    Raises
    ------
    InputError
        If they cannot be read, mix zones and none, or have a zone where `utc_offset` is not known.
    """
    try:
        zone = zone_of(given)
        if not zone:
            return np.asarray(np.array(given, dtype="datetime64[s]"))
        if utc_offset is None:
            raise InputError(
                f"it has a time zone ({zone}), and nothing here tells the local standard time; "
                f"write it without, or hand in climate.local(...) of it",
                where,
            )
        import pandas as pd

        utc = pd.to_datetime([given] if np.ndim(given) == 0 else list(given), utc=True).tz_localize(None)
        out: Marks = utc.to_numpy().astype("datetime64[s]") + np.timedelta64(round(utc_offset * 3600.0), "s")
        return out[0:1].reshape(()) if np.ndim(given) == 0 else out
    except InputError:
        raise
    except (ValueError, TypeError) as error:
        raise InputError(f"it cannot be read as a date ({error}); write it as 2022-01-15T06", where) from None


def local_time(given: Any, utc_offset: float | None, where: str) -> np.datetime64:
    """Return one time in local standard time; see `local_times`."""
    found: np.datetime64 = local_times(given, utc_offset, where).reshape(1)[0]
    return found
