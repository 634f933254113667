"""A load: spray at every spring tide, thrown onto a layer that stands open to it. Invented for the example."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from drydown import InputError
from drydown.case.keys import Section, keys_of
from drydown.case.load import Load, LoadWords, Source

HOUR = np.timedelta64(3600, "s")


@dataclass(frozen=True)
class SpringTide(Load):
    """Water that the spray of a spring tide throws onto the outer face of a layer.

    Parameters
    ----------
    layer : str
    amount : float
        Of each tide, over an hour [kg/m2].
    every : float
        From one spring tide to the next [s]; 14.77 days is half a month of the moon.
    """

    layer: str
    amount: float = 0.1
    every: float = 14.77 * 86400.0

    #: Its section of a case file, [[spring_tide]]: the values state their units, as of any other section.
    section = Section(
        keys_of("""
        layer* | text | layer that the spray reaches
        amount | water_mass | of each spring tide
        every | time | from one spring tide to the next
        """)
    )

    def __post_init__(self) -> None:
        if not 0.0 < self.amount < 10.0:
            message = f"amount is {self.amount:g} kg/m2; it must lie between 0 and 10"
            raise InputError(message, "spring tide")
        if not self.every >= 86400.0:
            raise InputError(f"a spring tide every {self.every:g} s; a day is the least", "spring tide")

    @property
    def label(self):
        """Its name in results, in the budget and in figures."""
        return f"spray in {self.layer}"

    @property
    def layers(self):
        """The layers it names; the engine sees to it that they are there."""
        return (self.layer,)

    @property
    def words(self):
        """What is said of its water, and of what found no room."""
        return LoadWords(brought="threw in", refused="dripped off again")

    def lower(self, site):
        """Return water into the outer 5 mm, in the hour after each spring tide."""
        hours = (site.hours - site.hours[0]) / HOUR
        tide = np.diff(np.floor(hours * 3600.0 / self.every), prepend=0.0) > 0.0
        rate = site.over_marks(np.where(tide, self.amount / 3600.0, 0.0))
        note = {"spray": f"{int(tide.sum())} spring tides"}
        return (Source(rate, site.cells(self.layer, "outer"), notes=note),)


def loads():
    """Return the loads by the name of their section."""
    return {"spring_tide": SpringTide}
