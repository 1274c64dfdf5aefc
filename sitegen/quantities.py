"""How amps, percentages and minutes are written, on pages and on a terminal.

They are exact numbers until here, and are rounded once.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

# The same exact numbers, and far faster; the standard library's serve as the description of types.
if TYPE_CHECKING:
    from fractions import Fraction as Fraction
else:
    from gmpy2 import mpq as Fraction  # noqa: N812

HALF = Fraction(1, 2)
NOT_KNOWN = "not known"
LONGEST_MINUTES = 240
"""A battery that lasts longer has no figure: age, cold and charge make more of a difference."""

Figure = Fraction | int | float
"""A float is a figure as the catalogue has it, and means what is written there."""


def exactly(figure: Figure) -> Fraction:
    """A figure as a fraction."""
    return Fraction(repr(figure)) if isinstance(figure, float) else Fraction(figure)


def rounded(figure: Figure, places: int = 0) -> Fraction:
    """A figure to a number of decimal places, halves up.

    Examples
    --------
    >>> rounded(70.5) == 71, rounded(Fraction(1, 3), 2) == Fraction(33, 100)
    (True, True)
    >>> rounded(2.675, 2) == Fraction("2.68")
    True
    """
    scale = 10**places
    return Fraction(math.floor(exactly(figure) * scale + HALF), scale)


def decimals(figure: Figure, places: int) -> str:
    """A figure with always this many decimal places.

    Examples
    --------
    >>> decimals(Fraction(93), 1), decimals(0.25, 1), decimals(-0.04, 1)
    ('93.0', '0.3', '0.0')
    """
    return f"{float(rounded(figure, places)):.{places}f}"


def for_json(figure: Figure | None, places: int = 3) -> float | None:
    """A figure for a program to read."""
    return None if figure is None else float(rounded(figure, places))


def whole(figure: Figure) -> int:
    """A percentage or amps to the nearest whole, halves up.

    Examples
    --------
    >>> whole(70.5), whole(0.4999)
    (71, 0)
    """
    return int(rounded(figure))


def whole_minutes(minutes: Figure) -> int:
    """Minutes, rounded down.

    Examples
    --------
    >>> whole_minutes(29.9), whole_minutes(Fraction(30))
    (29, 30)
    """
    return int(exactly(minutes) // 1)


def duration(minutes: Figure, gap: str = " ") -> str:
    """A computed time on battery; a long one without a precision that it has not.

    Examples
    --------
    >>> duration(29.9), duration(240), duration(1404)
    ('29 min', '240 min', 'more than 4 hours')
    """
    if minutes > LONGEST_MINUTES:
        return "more than 4 hours"
    return f"{whole_minutes(minutes)}{gap}min"


def from_minute(minutes: Figure) -> str:
    """The time of an event on battery.

    >>> from_minute(31.5), from_minute(1404)
    ('From minute 31', 'After more than 4 hours')
    """
    if minutes > LONGEST_MINUTES:
        return f"After {duration(minutes)}"
    return f"From minute {whole_minutes(minutes)}"


def minutes_gained(minutes: Figure | None) -> str:
    """By how much longer a battery lasts, rounded down; None is without limit.

    Examples
    --------
    >>> minutes_gained(12.7), minutes_gained(1.26), minutes_gained(0.01)
    ('+12 min', '+1.2 min', '+0.1 min')
    """
    if minutes is None:
        return "no limit"
    if minutes > LONGEST_MINUTES:
        return f"+{duration(minutes)}"
    if minutes >= 10:
        return f"+{whole_minutes(minutes)} min"
    return f"+{decimals(Fraction(max(1, whole_minutes(minutes * 10)), 10), 1)} min"


@dataclass(frozen=True)
class Quantities:
    """Figures with their units."""

    gap: str
    """Between a figure and its unit."""

    def amps(self, amps: Figure) -> str:
        """Computed amps, to a tenth."""
        return f"{decimals(amps, 1)}{self.gap}A"

    def least_amps(self, amps: Figure, unknown: bool) -> str:
        """Computed amps, to a tenth; at least these, where `unknown` amps come on top.

        >>> PLAIN.least_amps(4, False), PLAIN.least_amps(4, True), PLAIN.least_amps(0, True)
        ('4.0 A', 'at least 4.0 A', 'not known')
        """
        if unknown and not rounded(amps, 1):
            return NOT_KNOWN
        return f"{'at least ' if unknown else ''}{self.amps(amps)}"

    def short_amps(self, amps: Figure) -> str:
        """Computed amps to a tenth, where something so small that it would be 0.0 is named.

        >>> PLAIN.short_amps(12.04), PLAIN.short_amps(0.01)
        ('12.0 A', 'under 0.1 A')
        """
        return f"under 0.1{self.gap}A" if 0 < exactly(amps) * 20 < 1 else self.amps(amps)

    def rated(self, amps: Figure | None) -> str:
        """Amps as the catalogue has them; empty where it has none."""
        return "" if amps is None else f"{float(amps):g}{self.gap}A"

    def volts(self, volts: Figure) -> str:
        """Volts as the catalogue has them."""
        return f"{float(volts):g}{self.gap}V"

    def drop(self, volts: Figure) -> str:
        """Computed volts of a drop, to a hundredth; what would be 0.00 is named.

        >>> PLAIN.drop(Fraction(7, 8)), PLAIN.drop(Fraction(1, 300))
        ('0.88 V', 'under 0.01 V')
        """
        small = 0 < exactly(volts) * 200 < 1
        return f"{'under 0.01' if small else decimals(volts, 2)}{self.gap}V"

    def volts_left(self, volts: Figure, at_least: bool = False, at_most: bool = False) -> str:
        """Computed volts under load, to a tenth; a bound is rounded so that it stays one.

        Examples
        --------
        >>> PLAIN.volts_left(25.777), PLAIN.volts_left(25.777, at_least=True)
        ('25.8 V', '25.7 V')
        """
        if at_least != at_most:
            tenths = Fraction(volts) * 10
            volts = Fraction(math.floor(tenths) if at_least else math.ceil(tenths), 10)
        return f"{decimals(volts, 1)}{self.gap}V"

    def percent(self, percent: Figure) -> str:
        """A computed percentage."""
        return f"{whole(percent)}{self.gap}%"


PLAIN = Quantities(" ")
NO_BREAK = Quantities("\u00a0")
"""For pages, where no line breaks before a unit."""
