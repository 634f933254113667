"""The units people read: what is said in SI is told in US units, at the edge and in one place.

Sentences, tables and figures are made in SI, those of a plugin's criterion too. What leaves the program goes
through `drydown.text.told`, which is the identity until a system is chosen with `told_in`. A number is told in
as few digits as lie within what its rounding left open, so that the ``3/4 in`` of a case file, kept as 19.05 mm
and said as ``19.1 mm``, is told as ``3/4 in`` and not as ``0.752 in``.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import lru_cache, partial
from typing import TYPE_CHECKING, Any

from .errors import InputError
from .quantities import System, convert, parse, unit_label
from .text import TELL, Rows, Tell

if TYPE_CHECKING:
    from matplotlib.figure import Figure

#: Words for the systems, as they stand in a case file and behind `--units`.
SYSTEMS: dict[str, System] = {"metric": "SI", "si": "SI", "us": "US"}
#: Share of a number within which it may be told shorter, where its own digits would allow more.
LOOSEST = 0.004
#: Finest fraction of an inch on a tape.
TAPE = 16

#: Unit in a sentence -> quantity, and factor to the unit that `parse` reads.
_UNITS = {
    "kg/(m2 h)": "moisture_flux", "g/(m2 h)": "moisture_flux", "g/(m2 d)": "moisture_flux",
    "kg/m3": "water_content", "kg/m2": "water_mass", "g/m2": "water_mass",
    "degC": "temperature", "°C": "temperature",
    "m3/(m2 h)": "air_leakage", "W/(m2 K)": "heat_transfer", "W/(m K)": "conductivity", "W/m2": "heat_flux",
    "m2 K/W": "thermal_resistance", "J/(kg K)": "heat_capacity", "MJ/m2": "energy",
    "ng/(Pa s m2)": "permeance", "ng/(Pa s m)": "permeability", "kg/day": "moisture_rate",
    "mm": "thickness", "cm": "thickness", "m": "length", "m3": "volume", "m2": "area", "m/s": "wind_speed",
    "K": "temperature_difference",
}  # fmt: skip
#: Vapour is told in grains, the unit that a perm is made of: 1 grain is 64.79891 mg.
_GRAINS = {"g/(m2 h)": "grains/(ft2 h)", "g/(m2 d)": "grains/(ft2 day)", "g/m2": "grains/ft2"}
#: Labels that people in the trade use where the table of quantities has another unit.
_LABELS = {"ft3/(ft2 min)": "cfm/ft2", "degF": "°F", "h ft2 degF/Btu": "h ft2 °F/Btu"}
_NUMBER = r"[-\u2212]?\d+(?:\.\d+)?(?:e[-+]?\d+)?"
_UNIT = "|".join(re.escape(u).replace("2", "[2²]").replace("3", "[3³]") for u in sorted(_UNITS, key=len, reverse=True))
_GAP = "[ \u00a0]"
_SAID = re.compile(
    rf"(?<![\w./\u2212-])(?:(?P<first>{_NUMBER}){_GAP}(?P<word>to|and|or|by|\+-|±){_GAP})?"
    rf"(?P<number>{_NUMBER}){_GAP}(?P<unit>{_UNIT})(?![\w/²³^(]|{_GAP}[sK]\))"
)
_SD = re.compile(rf"\bsd{_GAP}(?:(?P<first>{_NUMBER}){_GAP}to{_GAP})?(?P<number>{_NUMBER}){_GAP}m\b")
_SPOKEN = re.compile(rf"(?P<number>{_NUMBER}){_GAP}litres? on every square met(?:re|er)")
_HEAD = re.compile(rf"(?:^|(?<=\[)|(?<=\[\n))(?P<unit>{_UNIT})(?=$|\]|{_GAP}(?:in|a)\b)")


def system_of(word: str, where: str = "--units") -> System:
    """Return the system of a word: 'us' or 'metric' ('si').

    Raises
    ------
    InputError
        Another word.
    """
    if word.casefold() not in SYSTEMS:
        raise InputError(f"'{word}' is no system of units; write 'us' or 'metric'", where)
    return SYSTEMS[word.casefold()]


@contextmanager
def told_in(system: System, names: Sequence[str] = ()) -> Iterator[None]:
    """Tell what is said within in one system.

    Parameters
    ----------
    system : {'SI', 'US'}
    names : sequence of str
        Names of layers, films and the like that keep their letters, such as 'air gap 25 mm'.
    """
    words = partial(in_us, names=tuple(names))
    token = TELL.set(Tell(words, us_rows, partial(in_us_figure, words=words)) if system == "US" else None)
    try:
        yield
    finally:
        TELL.reset(token)


def in_us(text: str, names: Sequence[str] = ()) -> str:
    """Return a sentence with its SI values told in US units; `names` stay as they are."""
    if not re.search(r"\d|^\[?\w", text):
        return text
    pieces = _kept(tuple(sorted(set(names), key=len, reverse=True))).split(text) if names else [text]
    return "".join(piece if i % 2 else _converted(piece) for i, piece in enumerate(pieces))


@lru_cache(maxsize=64)
def _kept(names: tuple[str, ...]) -> re.Pattern[str]:
    return re.compile(f"({'|'.join(re.escape(n) for n in names)})")


def _converted(text: str) -> str:
    text = _SD.sub(_perms, text)
    text = _SPOKEN.sub(_pints, text)
    return _SAID.sub(_one, text)


def _one(match: re.Match[str]) -> str:
    unit = match["unit"].replace("²", "2").replace("³", "3")
    last, label = told_number(match["number"], unit)
    if match["first"] is None:
        return f"{last} {label}"
    first, other = told_number(match["first"], unit)
    word = match["word"]
    return f"{first} {word} {last} {label}" if other == label else f"{first} {other} {word} {last} {label}"


def _perms(match: re.Match[str]) -> str:
    """An sd is told as a permeance, which is what a perm is: the larger sd is the smaller permeance."""

    def one(text: str) -> str:
        return _digits(float(convert(parse(f"sd {text} m", "permeance"), "permeance", "US")), 0.02)

    first = f"{one(match['first'])} to " if match["first"] else ""
    return f"{first}{one(match['number'])} perm"


def _pints(match: re.Match[str]) -> str:
    square_foot, pint = 0.3048**2, 0.473176473
    number = _digits(float(match["number"]) * square_foot / pint, LOOSEST)
    return f"{number} pint{'' if number == '1' else 's'} on every square foot"


def told_number(text: str, unit: str) -> tuple[str, str]:
    """Return a number that was said in an SI unit, as it is told in US units, and the label of that unit.

    Parameters
    ----------
    text : str
        The number as it was said; its last digit tells how far it was rounded.
    unit : str
        One of those that a sentence may hold: 'mm', 'kg/m2', 'degC'.
    """
    text = text.replace("\u2212", "-")
    value, quantity = float(text), _UNITS[unit]
    factor, offset = scale(unit)
    open_ = _open(text)
    if unit in ("degC", "°C"):
        return _digits(factor * value + offset, absolute=max(factor * min(open_, 0.05), 0.04)), "°F"
    if unit in _GRAINS:
        near = min(open_ / abs(value), 0.02) if value else LOOSEST
        return _digits(factor * value, near), _GRAINS[unit]
    if unit == "K":
        return _digits(factor * value, LOOSEST), "°F"
    if quantity == "thickness":
        return _inches(factor * value, factor * min(open_, LOOSEST * abs(value)))
    near = min(open_ / abs(value), LOOSEST) if value else LOOSEST
    return _digits(factor * value, near), us_label(unit)


@lru_cache(maxsize=64)
def scale(unit: str) -> tuple[float, float]:
    """Return (factor, offset) from an SI unit of a sentence to its US unit."""
    name = _UNITS[unit]
    if unit in _GRAINS:
        return 1e-3 / 64.79891e-6 * 0.3048**2, 0.0
    given = "degC" if unit == "°C" else unit
    if name == "temperature_difference":
        return 1.8, 0.0
    zero = float(convert(parse(f"0 {given}", name), name, "US"))
    return float(convert(parse(f"1 {given}", name), name, "US")) - zero, zero


def us_label(unit: str) -> str:
    """Return the label of the US unit in which an SI unit of a sentence is told."""
    if unit == "K" or unit in _GRAINS:
        return _GRAINS.get(unit, "°F")
    label = unit_label(_UNITS[unit], "US")
    return _LABELS.get(label, label)


def _open(text: str) -> float:
    """Return half of the last digit of a number as it is written."""
    mantissa, _, power = text.lower().partition("e")
    places = len(mantissa.partition(".")[2])
    return 0.5 * 10.0 ** (-places + int(power or 0))


def _digits(value: float, near: float = LOOSEST, absolute: float = 0.0) -> str:
    """Return the shortest decimal within a share of a value, or within an absolute distance."""
    if value == 0.0 or not math.isfinite(value):
        return "0" if value == 0.0 else str(value)
    within = absolute or near * abs(value)
    exponent = math.floor(math.log10(abs(value)))
    for digits in range(1, 7):
        rounded = round(value, digits - 1 - exponent)
        if abs(rounded - value) <= within:
            break
    if 1e-3 <= abs(value) < 1e6:
        text = f"{rounded:.{max(0, digits - 1 - exponent)}f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
        return "0" if float(text) == 0.0 else text
    return f"{rounded:.{digits - 1}e}".replace("e-0", "e-").replace("e+0", "e+")


def _inches(value: float, within: float) -> tuple[str, str]:
    """Return a length as it stands on a tape, in mils where it is a film's."""
    if 0.0 < abs(value) < 1.0 / 32.0:
        return _digits(1000.0 * value, 0.03), "mil"
    for parts in (1, 2, 4, 8, TAPE):
        count = round(value * parts)
        if count and abs(count / parts - value) <= max(within, 0.002):
            whole, rest = divmod(count, parts)
            fraction = f"{rest}/{parts}" if rest else ""
            return f"{whole or ''} {fraction}".strip() or "0", "in"
    return _digits(value, LOOSEST), "in"


def us_rows(rows: Rows) -> Rows:
    """Return the rows of a table, columns below a head that names an SI unit alone told in US units."""
    out = [list(row) for row in rows]
    for at in range(min(2, len(out))):
        for j, cell in enumerate(out[at]):
            found = _HEAD.search(cell)
            if found is None:
                continue
            unit = found["unit"].replace("²", "2").replace("³", "3")
            label = "in" if _UNITS[unit] == "thickness" else us_label(unit)
            out[at][j] = cell[: found.start()] + label + cell[found.end() :]
            for row in out[at + 1 :]:
                mark = re.fullmatch(rf"({_NUMBER})(\*?)", row[j])
                if mark:
                    number, own = told_number(mark[1], unit)
                    row[j] = f"{number}{'' if own == label else ' ' + own}{mark[2]}"
    return out


def in_us_figure(figure: Figure, words: Callable[[str], str] = in_us) -> Figure:
    """Return a figure whose axes and words are told in US units: ticks stand at round numbers of them."""
    for axes in figure.axes:
        heads: tuple[tuple[Any, str, Callable[[str], Any]], ...] = (
            (axes.yaxis, axes.get_ylabel(), axes.set_ylabel),
            (axes.yaxis, axes.get_title(loc="left"), partial(_rewrite, axes)),
            (axes.xaxis, axes.get_xlabel(), axes.set_xlabel),
        )
        for axis, head, put in heads:
            found = _HEAD.search(head)
            if found is None:
                continue
            unit = found["unit"].replace("²", "2").replace("³", "3")
            label = "in" if _UNITS[unit] == "thickness" else us_label(unit)
            put(head[: found.start()] + label + head[found.end() :])
            _ticks(axis, *scale(unit))
        for text in axes.texts:
            text.set_text(words(text.get_text()))
    for text in figure.texts:
        text.set_text(words(text.get_text()))
    return figure


def _rewrite(axes: Any, words: str) -> None:
    """Change the head of axes and keep its looks."""
    from matplotlib.text import Text

    head = axes.get_title(loc="left")
    next(t for t in axes.findobj(Text) if t.get_text() == head).set_text(words)


def _ticks(axis: Any, factor: float, offset: float) -> None:
    from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator

    if isinstance(axis.get_major_locator(), FixedLocator) and not len(axis.get_majorticklocs()):
        return

    class _Round(MaxNLocator):
        """Round numbers of the unit that is shown, at their places in the unit that is drawn."""

        def tick_values(self, vmin: float, vmax: float) -> Any:
            shown: Any = super().tick_values(factor * vmin + offset, factor * vmax + offset)
            return (shown - offset) / factor

    axis.set_major_locator(_Round(nbins=6, steps=[1, 2, 2.5, 5, 10]))
    axis.set_major_formatter(FuncFormatter(lambda x, _: _digits(round(factor * x + offset, 9), 1e-6)))
