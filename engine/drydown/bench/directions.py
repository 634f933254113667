"""Cup tests of a film that answers differently to vapour from its two sides: a curve for each direction of flow."""

from __future__ import annotations

import warnings as _warnings
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..errors import InputError
from ..materials.model import Film
from .cup import CupTest
from .fitting import Fit, FitWarning, fit

#: Above this probability the tests do not tell the directions apart.
ALIKE = 0.05


def flows_inward(test: CupTest) -> bool:
    """Return whether the vapour of a test flows as it does from outside to inside in a wall.

    Vapour goes to the drier side. As the specimen lies, its outer face looks into the room; `turned`: into the cup.
    """
    return (test.cup < test.room) != test.turned


@dataclass(frozen=True)
class DirectionalFit:
    """Curves for both directions of flow.

    Parameters
    ----------
    inward, outward : Fit
        Of the tests with flow from outside to inside, and the other way.
    chance : float
        Probability [-] that tests of a film without sides would differ as much or more between the directions
        (likelihood ratio of one curve for all against one for each).
    warnings : tuple of str
    """

    inward: Fit
    outward: Fit
    chance: float
    warnings: tuple[str, ...] = ()

    def film(self, name: str, **fields: Any) -> Film:
        """Return the film: `permeance` is the curve inward, `permeance_outward` the one outward.

        Parameters
        ----------
        name : str
        **fields : object
            Further fields of `Film`.
        """
        ends = [*self.inward.covered, *self.outward.covered]
        given = {"permeance_outward": self.outward.curve, "humidity_range": (min(ends), max(ends))} | fields
        return self.inward.film(name, **given)


def fit_directions(tests: Sequence[CupTest], family: str = "logistic", **options: Any) -> DirectionalFit:
    """Fit one curve to the tests with flow inward and one to those with flow outward.

    Parameters
    ----------
    tests : sequence of CupTest
        At least two of each direction; `CupTest.turned` says which face looked into the cup.
    family : str
    **options
        As for `drydown.bench.fit`.

    Returns
    -------
    DirectionalFit

    Raises
    ------
    InputError
        If a direction has fewer than two tests, or a test cannot be used.

    Notes
    -----
    2 ln of the likelihood ratio is the sum of squared residuals of one curve through all tests less those of both
    curves; with k parameters it follows a chi-squared law of k degrees where the film has no sides (Wilks 1938).
    """
    from scipy.stats import chi2

    tests = tuple(tests)
    parts = {True: [t for t in tests if flows_inward(t)], False: [t for t in tests if not flows_inward(t)]}
    for way, part in parts.items():
        if len(part) < 2:
            word = "inward" if way else "outward"
            raise InputError(
                f"{len(part)} of the {len(tests)} tests {'has' if len(part) == 1 else 'have'} flow {word}; at least 2 "
                "of each direction are needed (`turned` says that the outer face looks into the cup)",
                "fit of both directions",
            )
    with _warnings.catch_warnings():
        _warnings.simplefilter("ignore", FitWarning)
        one = fit(tests, family, **(options | {"method": "laplace", "draws": 2}))
        inward, outward = (fit(parts[way], family, **options) for way in (True, False))
    better = sum(float(np.sum(f.residuals**2)) for f in (inward, outward))
    chance = float(chi2.sf(max(float(np.sum(one.residuals**2)) - better, 0.0), len(one.working)))
    said = [f"flow {word}: {text}" for word, f in (("inward", inward), ("outward", outward)) for text in f.warnings]
    if chance > ALIKE:
        said.insert(0, f"the tests do not tell the directions apart: a film without sides would give a difference like "
                       f"this in {100 * chance:.0f} of 100 such series")  # fmt: skip
    for text in said:
        _warnings.warn(text, FitWarning, stacklevel=2)
    return DirectionalFit(inward, outward, chance, tuple(said))
