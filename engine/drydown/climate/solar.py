"""Solar irradiance of a plane from hourly means on the horizontal and towards the sun."""

from __future__ import annotations

import numpy as np

from ..arrays import Array
from .model import HOUR, Climate, Times
from .shading import Shading

#: Zenith angle [degree] beyond which the direct beam is not resolved from global and diffuse (common practice).
LOWEST_SUN = 87.0


def sun_position(end_of_hour: Times, place: Climate) -> tuple[Array, Array]:
    """Apparent zenith and azimuth of the sun [degree] in the middle of each hour.

    Parameters
    ----------
    end_of_hour : array of datetime64, shape (n,)
        Ends of the hours, local standard time of `place`.
    place : Climate
        Latitude, longitude, altitude and utc_offset are read.

    Notes
    -----
    The ephemeris of pvlib, within 0.013 degrees of the NREL algorithm.
    """
    import pandas as pd
    from pvlib import solarposition

    shift = np.timedelta64(round(place.utc_offset * 3600.0), "s")
    utc = pd.DatetimeIndex(np.asarray(end_of_hour) - HOUR // 2 - shift).tz_localize("UTC")
    sun = solarposition.ephemeris(utc, place.latitude, place.longitude, temperature=12.0)
    return sun["apparent_zenith"].to_numpy(), sun["azimuth"].to_numpy()


def plane_irradiance(
    end_of_hour: Times,
    place: Climate,
    direct_normal: Array | None,
    diffuse_horizontal: Array | None,
    global_horizontal: Array | None,
    *,
    azimuth: float,
    tilt: float,
    ground_reflectance: float | Array,
    shading: Shading | None = None,
) -> tuple[Array, str]:
    """Total irradiance of a plane [W/m2], mean of each hour, and how it was made.

    Parameters
    ----------
    end_of_hour : array of datetime64, shape (n,)
    place : Climate
    direct_normal, diffuse_horizontal, global_horizontal : array of shape (n,) or None
        [W/m2]; direct with diffuse, or global alone.
    azimuth, tilt : float
        Of the plane [degree].
    ground_reflectance : float or array of shape (n,)
        [-].
    shading : Shading, optional
        What hides part of the sky.

    Notes
    -----
    Sky diffuse: Perez et al. (1990) through pvlib; isotropic while the middle of the hour has the sun below
    the horizon. Where only the global is known it is split by Erbs et al. (1982) through pvlib; where one of
    direct and diffuse is missing it follows from the other two. Shading cuts the beam and the ring around
    the sun by the middle of the hour, the even part of the sky by its view factor, and the bright band at
    the horizon as a whole.
    """
    import pandas as pd
    from pvlib import atmosphere, irradiance

    zenith, sun_azimuth = sun_position(end_of_hour, place)
    cosine = np.maximum(np.cos(np.radians(zenith)), 0.0)
    high = zenith < LOWEST_SUN
    day = pd.DatetimeIndex(end_of_hour).day_of_year.to_numpy()
    extra = irradiance.get_extra_radiation(day)
    how = "Perez transposition of direct and diffuse"
    if direct_normal is None or diffuse_horizontal is None:
        if global_horizontal is None:
            raise ValueError("global, or direct with diffuse, is needed")
        if diffuse_horizontal is None and direct_normal is not None:
            diffuse_horizontal = np.clip(global_horizontal - direct_normal * cosine, 0.0, global_horizontal)
            how += ", diffuse from global less direct"
        elif diffuse_horizontal is None:
            split = irradiance.erbs(global_horizontal, zenith, day)
            diffuse_horizontal = np.clip(np.asarray(split["dhi"], dtype=float), 0.0, global_horizontal)
            how += ", global split by Erbs et al. (1982)"
        else:
            how += ", direct from global less diffuse"
        if direct_normal is None:
            beam = np.maximum(global_horizontal - diffuse_horizontal, 0.0)
            direct_normal = np.where(high, beam / np.maximum(cosine, np.cos(np.radians(LOWEST_SUN))), 0.0)
            direct_normal = np.minimum(direct_normal, extra)
    if global_horizontal is None:
        global_horizontal = diffuse_horizontal + direct_normal * cosine

    up = np.asarray(zenith < 90.0)
    airmass = atmosphere.get_relative_airmass(np.minimum(zenith, 89.99))
    parts = irradiance.perez(
        tilt,
        azimuth,
        diffuse_horizontal,
        direct_normal,
        extra,
        zenith,
        sun_azimuth,
        airmass,
        return_components=True,
    )
    perez, even, ring, band = (
        np.asarray(parts[k], dtype=float)
        for k in ("poa_sky_diffuse", "poa_isotropic", "poa_circumsolar", "poa_horizon")
    )
    isotropic = np.asarray(irradiance.isotropic(tilt, diffuse_horizontal), dtype=float)
    known = up & np.isfinite(perez)
    towards = np.maximum(irradiance.aoi_projection(tilt, azimuth, zenith, sun_azimuth), 0.0)
    beam = np.where(up, direct_normal * towards, 0.0)
    if shading is not None and not shading.open:
        lit = ~shading.blocks(90.0 - zenith, sun_azimuth, azimuth)
        share = shading.sky_view(tilt) / max(Shading().sky_view(tilt), 1e-9)
        beam = np.where(lit, beam, 0.0)
        perez = share * even + np.where(lit, ring, 0.0) + (band if shading.horizon == 0.0 else 0.0)
        perez = np.maximum(perez, 0.0)
        isotropic = share * isotropic
        how += f"; {shading.describe()}"
    diffuse = np.where(known, perez, isotropic)
    ground = irradiance.get_ground_diffuse(tilt, global_horizontal, ground_reflectance)
    return beam + diffuse + ground, how
