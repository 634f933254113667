"""What a case of the validation hands back, and the table made of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@dataclass(frozen=True)
class Check:
    """One comparison.

    Parameters
    ----------
    quantity : str
        What is compared, and relative to what.
    error : float
        Greatest difference between engine and reference.
    band : float
        Greatest difference allowed.
    unit : str
        Of both: "%", "K", "g/m2", "-".
    at_least : bool
        True: `error` is a figure that must reach the band (an order of convergence) instead of staying below.
    """

    quantity: str
    error: float
    band: float
    unit: str = "%"
    at_least: bool = False

    @property
    def passed(self) -> bool:
        """Whether the error lies within the band; never where it is not a number."""
        return bool(self.error >= self.band if self.at_least else abs(self.error) <= self.band)


@dataclass(frozen=True)
class About:
    """What a case is: short name, title, source with its label, independent reference, remark."""

    name: str
    title: str
    source: str
    reference: str
    remark: str = ""


@dataclass(frozen=True)
class Result:
    """Comparisons of a case, and a function that draws it."""

    checks: tuple[Check, ...]
    draw: Callable[[], Figure]


@dataclass(frozen=True)
class Outcome:
    """What is kept of a case that ran: plain data, fit for JSON."""

    about: About
    checks: tuple[Check, ...]
    seconds: float
    failure: str = ""

    @property
    def passed(self) -> bool:
        """Whether it ran and every comparison lies within its band."""
        return not self.failure and bool(self.checks) and all(c.passed for c in self.checks)

    def plain(self) -> dict[str, Any]:
        """Return it as a plain dictionary."""
        checks = [{**asdict(c), "passed": c.passed} for c in self.checks]
        return {
            **asdict(self.about),
            "passed": self.passed,
            "failure": self.failure,
            "seconds": round(self.seconds, 2),
            "checks": checks,
        }


def relative(value: Any, exact: Any, scale: float) -> float:
    """Greatest difference in per cent of a scale."""
    return float(100.0 * np.max(np.abs(np.asarray(value) - np.asarray(exact))) / abs(scale))


def number(value: float) -> str:
    """Return a figure with two or three digits that count."""
    return f"{value:.3f}" if 0.1 <= abs(value) < 1e3 else f"{value:.2g}"


def rows(outcomes: Iterable[Outcome]) -> list[tuple[str, ...]]:
    """Return the table: case, quantity, error, band, verdict."""
    out: list[tuple[str, ...]] = []
    for o in outcomes:
        if o.failure:
            out.append((o.about.name, o.failure, "", "", "FAILED"))
        for c in o.checks:
            sign = ">=" if c.at_least else "<="
            unit = "" if c.unit == "-" else f" {c.unit}"
            verdict = "within" if c.passed else "OUTSIDE"
            out.append((o.about.name, c.quantity, number(c.error) + unit, f"{sign} {c.band:g}{unit}", verdict))
    return out


HEAD = ("case", "quantity", "error", "band", "verdict")


def text_table(outcomes: Iterable[Outcome]) -> str:
    """Return the table for a terminal."""
    lines = [HEAD, *rows(outcomes)]
    widths = [max(len(line[i]) for line in lines) for i in range(5)]
    out = []
    last = ""
    for line in lines:
        shown = ("" if line[0] == last else line[0], *line[1:])
        last = line[0]
        cells = [shown[0].ljust(widths[0]), shown[1].ljust(widths[1]), shown[2].rjust(widths[2])]
        out.append("  ".join([*cells, shown[3].ljust(widths[3]), shown[4]]).rstrip())
    return "\n".join(out)
