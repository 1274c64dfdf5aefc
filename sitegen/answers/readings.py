"""What a meter, lamp or flag shows, as a value; it becomes text only where it is printed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from sitegen.quantities import whole

SCALE_READ = 5
"""A loadmeter is read to 5 % of the rating, an ammeter to 5 A: what lies closer than that reads the
same. Common practice, no source."""

TOLERANCE_VOLTS = 1.5
"""The error of a voltmeter, V: a 24 V battery reads 22.5 to 25.5 V. Common practice, no source."""

TOLERANCE_SHARE = 0.05
"""On higher volts it may be off by this share of what is there."""

Unit = Literal["V", "%", "A", ""]

Direction = Literal["discharge", "charge side"]
"""Which way current flows in a battery's feeder. On the charge side is what is fed past its
terminals and, of a battery with `charge-amps`, what it takes to charge."""


@dataclass(frozen=True)
class Reading:
    """What one indication shows.

    Examples
    --------
    >>> str(Reading("figure", 28.5, "V")), str(Reading("figure", 35, "A", "discharge"))
    ('28.5 V', '35 A discharge')
    """

    kind: Literal["figure", "load", "no load", "not known", "blank", "lit", "unlit", "lit or unlit"]
    """`load` is a loadmeter or ammeter whose figure is not known though current flows, `not known`
    one of which not even that is known, `no load` what a person may see on either; `blank` has lost
    its own power; `lit` and `unlit` are a lamp or flag, `lit or unlit` one whose limit in volts is
    within what its node may show (`volts_bands`)."""
    number: float = 0
    """Of a figure, never below 0 on what is computed."""
    unit: Unit = ""
    """Of a figure: volts, percent of the rating, or amps."""
    direction: Direction | None = None
    """Of an ammeter in a battery's feeder."""
    band: tuple[float, float] | None = None
    """Of a figure that may be anything from the first to the second, both included: in a healthy
    aircraft (`meter_bands`, `volts_bands`), or because a person cannot distinguish them."""

    def __str__(self) -> str:
        if self.band and self.direction == "charge side":
            return f"charging, {self._figure} {self.unit}"
        return " ".join(part for part in (self._figure, self.unit, self.direction) if part)

    @property
    def without_unit(self) -> str:
        """As a person may write it down who reads it off the meter."""
        return str(replace(self, unit="", band=None))

    @property
    def is_load(self) -> bool:
        """It is a figure on a loadmeter or ammeter."""
        return self.unit in ("%", "A")

    @property
    def span(self) -> tuple[float, float]:
        """Of a figure: the least and the most that it may be."""
        return self.band or (self.number, self.number)

    @property
    def _figure(self) -> str:
        if self.kind != "figure":
            return self.kind
        return f"{self.number:g}" if self.band is None else "{:g} to {:g}".format(*self.band)


def banded(
    number: float, span: tuple[float, float], unit: Unit, direction: Direction | None = None
) -> Reading:
    """A figure that may be anything in a span.

    >>> str(banded(24, (22, 25.2), "V")), str(banded(0, (0, 60), "A", "charge side"))
    ('22 to 25.2 V', 'charging, 0 to 60 A')
    """
    least, most = span
    within = min(max(number, least), most)
    return Reading("figure", within, unit, direction, None if least == most else (least, most))


def reading_text(reading: Reading, kind: str) -> str:
    """What an indication of this kind shows: a lamp is lit, a flag is in view."""
    if kind != "flag":
        return str(reading)
    return str(reading).replace("unlit", "out of view").replace("lit", "in view")


LOAD, NO_LOAD, NOT_KNOWN = Reading("load"), Reading("no load"), Reading("not known")
BLANK, LIT, UNLIT = Reading("blank"), Reading("lit"), Reading("unlit")
LIT_OR_UNLIT = Reading("lit or unlit")
_LAMP = {LIT, UNLIT, LIT_OR_UNLIT}


def as_seen(reading: Reading, kind: str) -> Reading:
    """A reading as a person sees it: a lamp without power is as dark as one that is unlit.

    >>> str(as_seen(BLANK, "lamp")), str(as_seen(BLANK, "voltmeter"))
    ('unlit', 'blank')
    """
    return UNLIT if kind == "lamp" and reading == BLANK else reading


def reads_the_same(one: Reading, other: Reading, within: float = SCALE_READ) -> bool:
    """Whether a person may read the same off two readings of one indication.

    Parameters
    ----------
    within : loads that are no further from each other are read the same.

    Examples
    --------
    >>> def percent(figure): return Reading("figure", figure, "%")
    >>> reads_the_same(percent(48), percent(45)), reads_the_same(percent(48), percent(96))
    (True, False)
    >>> reads_the_same(Reading("figure", 24, "V"), Reading("figure", 28, "V"))
    False
    >>> reads_the_same(banded(24, (22, 25.2), "V"), Reading("figure", 25, "V"))
    True
    >>> reads_the_same(banded(0, (0, 60), "A"), Reading("figure", 35, "A", "discharge"))
    True
    >>> reads_the_same(percent(0), LOAD), reads_the_same(LIT, LIT_OR_UNLIT)
    (False, True)
    """
    if one == other or (LIT_OR_UNLIT in (one, other) and {one, other} <= _LAMP):
        return True
    if one.kind != "figure" or other.kind != "figure":
        return False
    (least, most), (lowest, highest) = one.span, other.span
    # Something against nothing is seen, however little: the needle leaves its stop.
    if least == 0 == lowest:
        return True
    # A band without a direction goes both ways.
    against = one.direction and other.direction and one.direction != other.direction
    if not most or not highest or one.unit != other.unit or against:
        return False
    apart = max(least - highest, lowest - most)
    return apart <= (within if one.is_load else 0)


def reads_as_before(now: Reading, was: Reading) -> bool:
    """Whether nobody can count on a difference.

    None is read, what is read is not known, or volts differ by a meter's error. That makes no
    groups: 28 V reads as 27 V did, and as 29 V, but 27 V does not read as 29 V did.

    >>> volts = [Reading("figure", n, "V") for n in (28, 27, 25.2, 0)]
    >>> [reads_as_before(one, volts[0]) for one in volts]
    [True, True, False, False]
    >>> reads_as_before(Reading("figure", 112, "V"), Reading("figure", 115, "V"))
    True
    >>> [reads_as_before(NOT_KNOWN, volts[0]), reads_as_before(LOAD, Reading("figure", 50, "%"))]
    [True, True]
    >>> reads_as_before(LOAD, Reading("figure", 0, "%"))
    False
    """
    if NOT_KNOWN in (now, was) or reads_the_same(now, was):
        return True
    if LOAD in (now, was) and {now.kind, was.kind} == {"load", "figure"}:
        return bool(now.span[1] or was.span[1])
    (least, most), (lowest, highest) = now.span, was.span
    if not now.unit == was.unit == "V" or not most or not highest:
        return False
    apart = max(least - highest, lowest - most)
    return apart <= max(TOLERANCE_VOLTS, TOLERANCE_SHARE * max(most, highest))


def may_change(now: Reading, was: Reading) -> bool:
    """Whether an indication reads otherwise than before, or a lamp may.

    A load does so too that is nowhere what it was, though the two may be read the same. What has no
    power is as dark as what is unlit.

    >>> may_change(LIT_OR_UNLIT, UNLIT), may_change(UNLIT, UNLIT), may_change(LIT, UNLIT)
    (True, False, True)
    >>> was = banded(60, (48, 75), "%")
    >>> may_change(banded(83, (76, 90), "%"), was), may_change(banded(40, (25, 52), "%"), was)
    (True, False)
    >>> may_change(BLANK, UNLIT), may_change(BLANK, LIT)
    (False, True)
    """
    if {now, was} == {BLANK, UNLIT}:
        return False
    if now.is_load and was.is_load and abs(now.number - was.number) > SCALE_READ:
        (least, most), (lowest, highest) = now.span, was.span
        return max(least - highest, lowest - most) > 0 or not reads_as_before(now, was)
    return not reads_as_before(now, was) or (now != was and LIT_OR_UNLIT in (now, was))


def read_off(shown: Reading) -> Reading:
    """A reading as a person reports it: a load to the nearest 5, all else as it is.

    A band is rounded outwards, but not to 0, which a needle off its stop does not show.

    Examples
    --------
    >>> figures = (48, "%"), (1, "A"), (0, "A"), (28.5, "V")
    >>> [str(read_off(Reading("figure", *shown))) for shown in figures]
    ['50 %', '5 A', '0 A', '28.5 V']
    >>> str(read_off(banded(110, (103, 117), "A"))), str(read_off(banded(2, (2, 52), "A")))
    ('100 to 120 A', '2 to 55 A')
    """
    if not shown.is_load:
        return shown
    number = shown.number and SCALE_READ * max(1, whole(shown.number / SCALE_READ))
    if shown.band is None:
        return replace(shown, number=number)
    least, most = shown.band
    span = SCALE_READ * int(least // SCALE_READ) or least, -SCALE_READ * int(-most // SCALE_READ)
    return banded(number, span, shown.unit, shown.direction)


def distinguishable(shown: Sequence[Reading], within: float = SCALE_READ) -> list[Reading]:
    """For each of these readings of one indication, the range of what may read the same.

    What may read the same as each other, and as what these may, makes one range.

    Examples
    --------
    >>> [str(r) for r in distinguishable([Reading("figure", n, "%") for n in (48, 96, 45, 0)])]
    ['45 to 48 %', '96 %', '45 to 48 %', '0 %']
    """
    ranges: list[list[Reading]] = []
    for reading in dict.fromkeys(shown):
        same = [r for r in ranges if any(reads_the_same(reading, member, within) for member in r)]
        ranges = [r for r in ranges if r not in same] + [[reading, *(m for r in same for m in r)]]
    label = {reading: _range(members) for members in ranges for reading in members}
    return [label[reading] for reading in shown]


def _range(members: Sequence[Reading]) -> Reading:
    """One reading for all of these."""
    first = min(members, key=lambda r: r.span)
    if len(members) == 1:
        return first
    if LIT_OR_UNLIT in members:
        return LIT_OR_UNLIT
    directions = {r.direction for r in members if r.span[1]}
    direction = directions.pop() if len(directions) == 1 else None
    most = max(r.span[1] for r in members)
    return banded(first.number, (first.span[0], most), first.unit, direction)
