"""What can be made: bounds of a permeance curve that a design keeps."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..arrays import Array
from ..errors import InputError
from .families import Family

#: Permeance of a film with an sd of 1 m [kg/(m2 s Pa)]: still air of 1.95e-10 kg/(m s Pa) at 23 degC (DIN 52615).
ONE_METRE = 1.95e-10
#: Humidities over which a curve is looked at [-].
HUMIDITIES = np.linspace(0.05, 0.95, 181)


@dataclass(frozen=True)
class Makeable:
    """Bounds of what can be made; the default is what the films of our library that open with humidity span.

    Parameters
    ----------
    least, greatest : float
        Permeance at any humidity [kg/(m2 s Pa)]: sd 40 m and 0.07 m.
    ratio : float
        Greatest permeance over the least, from 5 to 95 % [-]. Of the library's films one spans a factor of 500 and
        three more 120 to 220.
    steepness : float
        Greatest d ln P / d phi from 5 to 95 % [-]. The steepest film of the library has 21.5, two have near 16.

    Raises
    ------
    InputError
        If a bound is not positive, or contradicts another.
    """

    least: float = ONE_METRE / 40.0
    greatest: float = ONE_METRE / 0.07
    ratio: float = 220.0
    steepness: float = 16.0

    def __post_init__(self) -> None:
        for name in ("least", "greatest", "ratio", "steepness"):
            value = getattr(self, name)
            if not (np.isfinite(value) and value > 0.0):
                raise InputError(f"'{name}' is {value:g}; it must be greater than 0", "what can be made")
        if not self.least < self.greatest:
            raise InputError(
                f"the least permeance {self.least:g} is not below the greatest {self.greatest:g}", "what can be made"
            )
        if not self.ratio > 1.0:
            raise InputError(f"'ratio' is {self.ratio:g}; it must be greater than 1", "what can be made")

    def room(self, family: Family, parameters: Array) -> Array:
        """Return by how much a curve keeps each bound, in ln P: negative where it breaks it.

        Parameters
        ----------
        family : Family
        parameters : Array
            Working parameters of the family, shape (parameter,).

        Returns
        -------
        Array
            Of least, greatest, ratio, steepness and of never falling with humidity.
        """
        log = family.log(parameters[None, :], HUMIDITIES)[0]
        low, high = float(log.min()), float(log.max())
        slope = np.diff(log) / np.diff(HUMIDITIES)
        return np.array(
            [
                low - np.log(self.least),
                np.log(self.greatest) - high,
                np.log(self.ratio) - (high - low),
                (self.steepness - float(slope.max())) * 0.1,
                float(slope.min()) * 0.1,
            ]
        )

    def box(self, family: Family) -> Array:
        """Return the range in which each working parameter is looked for, shape (parameter, 2).

        Parameters
        ----------
        family : Family
        """
        low, high = float(np.log(self.least)), float(np.log(self.greatest))
        middle = family.prior(low, high)
        reach = 1.5
        box = np.stack([middle[:, 0] - reach * middle[:, 1], middle[:, 0] + reach * middle[:, 1]], axis=1)
        for i, name in enumerate(family.parameters):
            if name in ("closed", "open", "dry", "value"):
                box[i] = low, high
            elif name == "middle":
                box[i] = 0.3, 0.95
            elif name == "width":
                box[i] = np.log(0.01), np.log(0.3)
        return box

    def starts(self, family: Family, number: int, seed: int = 0) -> Array:
        """Return curves that keep the bounds, spread over what can be made, shape (number, parameter).

        Parameters
        ----------
        family : Family
        number : int
        seed : int
            Of the sequence of points.

        Raises
        ------
        InputError
            If hardly any curve of the family keeps the bounds.
        """
        from scipy.stats import qmc

        box = self.box(family)
        points = qmc.scale(qmc.Sobol(len(box), seed=seed).random_base2(11), box[:, 0], box[:, 1])
        kept = [p for p in points if np.all(self.room(family, p) >= -1e-9)]
        if len(kept) < number:
            raise InputError(f"hardly any {family.name} curve keeps the bounds; widen them", "what can be made")
        return np.array(kept[:number])
