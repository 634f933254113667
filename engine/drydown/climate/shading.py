"""What stands before a surface and hides sun and sky: a horizon all round, an overhang above."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError


@dataclass(frozen=True)
class Shading:
    """Obstructions before the middle of a surface.

    Parameters
    ----------
    horizon : float
        Elevation [degree] up to which trees, hills or houses hide the sky, the same in all directions.
    overhang : float
        Depth [m] of a roof, balcony or sill that reaches out over a wall; 0: none. It is taken as long.
    overhang_height : float
        Height [m] of the overhang above the middle of the surface.

    Notes
    -----
    One rule, `blocks`, says which directions are hidden. The direct sun and the bright ring around it are cut
    in these directions, the rest of the sky by the share of its view that is hidden. What hides it radiates
    long-wave at air temperature, as the ground does, and throws back no sun (assumed; less sun dries less).
    What an overhang does to the rain is the deposition factor of the driving rain, not part of this.
    """

    horizon: float = 0.0
    overhang: float = 0.0
    overhang_height: float = 1.0

    def __post_init__(self) -> None:
        for key, low, high in (
            ("horizon", 0.0, 89.0),
            ("overhang", 0.0, 50.0),
            ("overhang_height", 0.01, 100.0),
        ):
            value = getattr(self, key)
            if not low <= value <= high:
                raise InputError(f"{key} is {value:g}; it must lie between {low:g} and {high:g}", "shading")

    @property
    def open(self) -> bool:
        """Whether nothing is hidden."""
        return self.horizon == 0.0 and self.overhang == 0.0

    def blocks(self, elevation: Any, azimuth: Any, surface_azimuth: float) -> NDArray[np.bool_]:
        """Return which directions are hidden.

        Parameters
        ----------
        elevation, azimuth : array
            Of the direction looked at [degree].
        surface_azimuth : float
            Direction the surface faces [degree].

        Notes
        -----
        Below the horizon, or above the profile angle arctan(height/depth) of the overhang. The profile angle
        of a direction is its elevation seen across the wall, tan(profile) = tan(elevation)/cos(turn).
        """
        elevation = np.radians(np.asarray(elevation, dtype=float))
        hidden = np.asarray(elevation < np.radians(self.horizon))
        if self.overhang > 0.0:
            ahead = np.cos(elevation) * np.cos(np.radians(np.asarray(azimuth, dtype=float) - surface_azimuth))
            hidden = hidden | (np.sin(elevation) * self.overhang > ahead * self.overhang_height)
        return hidden

    def sky_view(self, tilt: float) -> float:
        """View factor from a surface to the part of the sky that is not hidden [-].

        Parameters
        ----------
        tilt : float
            [degree].

        Notes
        -----
        The cosine of incidence over the open directions above the horizontal, over pi; by the midpoint rule
        on 180 by 720 directions; (1 + cos tilt)/2 where nothing is hidden.
        """
        b = np.radians(tilt)
        if self.open:
            return 0.5 * (1.0 + float(np.cos(b)))
        elevation = (np.arange(180) + 0.5)[:, None] * 0.5
        azimuth = (np.arange(720) + 0.5)[None, :] * 0.5
        e, a = np.radians(elevation), np.radians(azimuth)
        towards = np.sin(e) * np.cos(b) + np.cos(e) * np.sin(b) * np.cos(a)
        seen = np.maximum(towards, 0.0) * np.cos(e) * ~self.blocks(elevation, azimuth, 0.0)
        return float(seen.sum() * np.radians(0.5) ** 2 / np.pi)

    def describe(self) -> str:
        """Return what hides the sky in one line."""
        parts = []
        if self.horizon:
            parts.append(f"horizon up to {self.horizon:g} degrees")
        if self.overhang:
            parts.append(f"overhang {self.overhang:g} m deep, {self.overhang_height:g} m above the middle")
        return " and ".join(parts) or "nothing hides the sky"
