"""What a meter, lamp or flag shows, as a value; it becomes text only where it is printed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from sitegen.quantities import whole

SCALE_READ = 5
"""A loadmeter is read to 5 % of the rating, an ammeter to 5 A: what lies closer than that reads the
same. Common practice, no source."""

Direction = Literal["discharge", "charge side"]
"""Which way current flows in a battery's feeder. What a battery takes to charge is left out, so the
charge side shows what is fed past its terminals."""


@dataclass(frozen=True)
class Reading:
    """What one indication shows.

    Examples
    --------
    >>> str(Reading("figure", 28.5, "V")), str(Reading("figure", 35, "A", "discharge"))
    ('28.5 V', '35 A discharge')
    """

    kind: Literal["figure", "load", "no load", "not known", "blank", "lit", "unlit"]
    """`load` is a loadmeter or ammeter whose figure is not known though current flows, `not known`
    one of which not even that is known, `no load` what a person may see on either; `blank` has lost
    its own power; `lit` and `unlit` are a lamp or flag."""
    number: float = 0
    """Of a figure, never below 0 on what is computed."""
    unit: Literal["V", "%", "A", ""] = ""
    """Of a figure: volts, percent of the rating, or amps."""
    direction: Direction | None = None
    """Of an ammeter in a battery's feeder."""
    highest: float | None = None
    """Of a range of figures that a person cannot distinguish: its end; `number` is its start."""

    def __str__(self) -> str:
        return " ".join(part for part in (self._figure, self.unit, self.direction) if part)

    @property
    def without_unit(self) -> str:
        """As a person may write it down who reads it off the meter."""
        return str(replace(self, unit=""))

    @property
    def is_load(self) -> bool:
        """It is a figure on a loadmeter or ammeter."""
        return self.unit in ("%", "A")

    @property
    def _figure(self) -> str:
        if self.kind != "figure":
            return self.kind
        range_end = "" if self.highest is None else f" to {self.highest:g}"
        return f"{self.number:g}{range_end}"


LOAD, NO_LOAD, NOT_KNOWN = Reading("load"), Reading("no load"), Reading("not known")
BLANK, LIT, UNLIT = Reading("blank"), Reading("lit"), Reading("unlit")


def reads_the_same(one: Reading, other: Reading) -> bool:
    """Whether a person reads the same off two readings of one indication.

    Examples
    --------
    >>> def percent(figure): return Reading("figure", figure, "%")
    >>> reads_the_same(percent(48), percent(45)), reads_the_same(percent(48), percent(96))
    (True, False)
    >>> reads_the_same(Reading("figure", 24, "V"), Reading("figure", 28, "V"))
    False
    >>> reads_the_same(percent(0), LOAD)
    False
    """
    if one == other:
        return True
    if not (one.is_load and other.is_load):
        return False
    # Something against nothing is seen, however little: the needle leaves its stop.
    if not one.number or not other.number:
        return one.number == other.number
    same_scale = (one.unit, one.direction) == (other.unit, other.direction)
    return same_scale and abs(one.number - other.number) <= SCALE_READ


def read_off(shown: Reading) -> Reading:
    """A reading as a person reports it: a load to the nearest 5, all else as it is.

    Examples
    --------
    >>> [str(read_off(Reading("figure", *shown))) for shown in ((48, "%"), (1, "A"), (28.5, "V"))]
    ['50 %', '5 A', '28.5 V']
    """
    if not shown.is_load or not shown.number:
        return shown
    return replace(shown, number=SCALE_READ * max(1, whole(shown.number / SCALE_READ)))


def distinguishable(shown: Sequence[Reading]) -> list[Reading]:
    """For each of these readings of one indication, the range of what reads the same.

    Loads that follow each other by no more than a person can read make one range.

    Examples
    --------
    >>> [str(r) for r in distinguishable([Reading("figure", n, "%") for n in (48, 96, 45, 0)])]
    ['45 to 48 %', '96 %', '45 to 48 %', '0 %']
    """
    ranges: list[list[Reading]] = []
    loads = {r for r in shown if r.is_load}
    for reading in sorted(loads, key=lambda r: (r.unit, r.direction or "", r.number)):
        if ranges and reads_the_same(ranges[-1][-1], reading):
            ranges[-1].append(reading)
        else:
            ranges.append([reading])
    label = {
        reading: replace(members[0], highest=members[-1].number)
        for members in ranges
        if len(members) > 1
        for reading in members
    }
    return [label.get(reading, reading) for reading in shown]
