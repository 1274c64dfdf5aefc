"""How amps, percentages and minutes are written, on pages and on a terminal."""

from __future__ import annotations

import math
from dataclasses import dataclass

ROUNDING = 1e-6
"""Minutes are rounded down; what is short of a whole one by this is whole."""
LONGEST_MINUTES = 240
"""A battery that lasts longer has no figure: age, cold and charge make more of a difference."""
NUDGE = 1e-3
"""What should end in a half may come out just below it."""


def whole(figure: float) -> int:
    """A percentage or amps to the nearest whole, halves up.

    Examples
    --------
    >>> whole(70.5), whole(0.4999), whole(0.49)
    (71, 1, 0)
    """
    return math.floor(figure + 0.5 + NUDGE)


def whole_minutes(minutes: float) -> int:
    """Minutes, rounded down.

    Examples
    --------
    >>> whole_minutes(29.9), whole_minutes(29.9999999)
    (29, 30)
    """
    return math.floor(minutes + ROUNDING)


def duration(minutes: float, gap: str = " ") -> str:
    """A computed time on battery; a long one without a precision that it has not.

    Examples
    --------
    >>> duration(29.9), duration(240), duration(1404)
    ('29 min', '240 min', 'more than 4 hours')
    """
    if minutes > LONGEST_MINUTES:
        return "more than 4 hours"
    return f"{whole_minutes(minutes)}{gap}min"


def from_minute(minutes: float) -> str:
    """The time of an event on battery.

    >>> from_minute(31.5), from_minute(1404)
    ('From minute 31', 'After more than 4 hours')
    """
    if minutes > LONGEST_MINUTES:
        return f"After {duration(minutes)}"
    return f"From minute {whole_minutes(minutes)}"


def minutes_gained(minutes: float | None) -> str:
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
    return f"+{whole_minutes(minutes * 10) / 10 or 0.1:g} min"


@dataclass(frozen=True)
class Quantities:
    """Figures with their units."""

    gap: str
    """Between a figure and its unit."""

    def amps(self, amps: float) -> str:
        """Computed amps, to a tenth."""
        return f"{amps:.1f}{self.gap}A"

    def short_amps(self, amps: float) -> str:
        """Computed amps to a tenth, without a zero that says nothing.

        >>> PLAIN.short_amps(12.04), PLAIN.short_amps(0.01)
        ('12 A', 'under 0.1 A')
        """
        return f"under 0.1{self.gap}A" if 0 < amps < 0.05 else self.rated(round(amps, 1))

    def rated(self, amps: float | None) -> str:
        """Amps as the catalogue has them; empty where it has none."""
        return "" if amps is None else f"{amps:g}{self.gap}A"

    def volts(self, volts: float) -> str:
        """Volts as the catalogue has them."""
        return f"{volts:g}{self.gap}V"

    def percent(self, percent: float) -> str:
        """A computed percentage."""
        return f"{whole(percent)}{self.gap}%"


PLAIN = Quantities(" ")
NO_BREAK = Quantities("\u00a0")
"""For pages, where no line breaks before a unit."""
