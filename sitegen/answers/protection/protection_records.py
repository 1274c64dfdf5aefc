"""What the audit of protection finds, a record a rule."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sitegen.answers.loads.converter_loops import Loop
from sitegen.answers.over_rating import OverRating
from sitegen.answers.voltage_drop_records import VoltsUnderLoad, WireDrop
from sitegen.catalogue.wire_chart import WireRow
from sitegen.quantities import Fraction


@dataclass(frozen=True)
class Overload:
    """What flows, or would flow, against what something may carry for long: more than that in a
    finding.
    """

    component: str
    amps: float
    limit: float
    """What it may carry, A."""
    condition: str
    """Where it carries most."""
    unknown: tuple[str, ...]
    """Equipment fed from it without figures: `amps` is the least."""
    bus: str = ""
    """For a device in a feeder: the bus that it leads to."""

    @property
    def percent(self) -> float:
        """Of what it may carry; a rating of nothing is no limit."""
        return 100 * self.amps / self.limit if self.limit else 0.0


@dataclass(frozen=True)
class OverWire:
    """A breaker or fuse that lets more pass than its wire may carry."""

    component: str
    rating: float
    gauge: int
    row: WireRow
    """The table's line for that gauge, or for the next thicker one that the table has."""
    allowed: float


@dataclass(frozen=True)
class NotFirst:
    """A breaker or fuse that need not open before the one upstream of it."""

    component: str
    rating: float
    upstream: str
    upstream_rating: float
    bus: str
    """The bus between them, which goes down with either."""


@dataclass(frozen=True)
class UnclearedShort:
    """A short that reaches a source, and so does more than kill the bus it is on."""

    bus: str
    sources: tuple[str, ...]
    """What it pulls down, and what would produce if the bus were only dead."""
    drawn_in: tuple[str, ...]
    """Those of them that did not feed the bus before: something brings them onto the fault."""
    also: tuple[str, ...]
    """Nodes that go down with it, and would live if the bus were only dead."""
    condition: str

    @property
    def breadth(self) -> int:
        """How many parts of the net it takes besides the bus and what fed it."""
        return len(self.drawn_in) + len(self.also)


@dataclass(frozen=True)
class LongWire:
    """What drops along a conductor against what Table 11-6 allows: more than that in a finding."""

    item: str
    """What it supplies; empty for a feeder."""
    bus: str
    """Where it begins."""
    branch: int
    """Of a feeder, its number in the network's order; else -1."""
    drop: WireDrop
    allowed: Fraction
    short_time: bool
    """With short-time amps."""
    condition: str
    """Where it is furthest over."""

    @property
    def percent(self) -> Fraction:
        """Of what is allowed."""
        return 100 * self.drop.volts / self.allowed


@dataclass(frozen=True)
class LowVolts:
    """Equipment with less than its `min-volts`, after the drops and sags on the way."""

    item: str
    left: VoltsUnderLoad
    least: float
    condition: str
    """Where it has least."""


@dataclass(frozen=True)
class LowMeter:
    """A voltmeter below what counts as healthy, by the volts under load."""

    source: str
    """That carries its node."""
    meter: str
    left: VoltsUnderLoad
    least: float
    """What is healthy at the least, V, without the voltmeter's error."""
    condition: str
    """Where it is furthest below."""


@dataclass(frozen=True)
class Tally:
    """How many of something could be judged."""

    every: Mapping[str, str]
    """Names, by id."""
    without: tuple[str, ...]
    """The ids of those that could not be, for want of a figure."""

    def __or__(self, other: Tally) -> Tally:
        """Of two airframes; what could not be judged on one of them counts so."""
        without = dict.fromkeys((*self.without, *other.without))
        return Tally({**self.every, **other.every}, tuple(without))


@dataclass(frozen=True)
class Judged:
    """How much there were figures for."""

    load: Tally
    """Breakers, fuses and links whose rating is known, and what they carry."""
    gauge: Tally
    """Breakers and fuses whose rating is known, and what Table 11-3 allows for each of their
    wires."""
    drop: Tally
    """Conductors of which it is known what drops along them, and what Table 11-6 allows."""

    def __or__(self, other: Judged) -> Judged:
        """Of two airframes."""
        return Judged(self.load | other.load, self.gauge | other.gauge, self.drop | other.drop)


@dataclass(frozen=True)
class Protection:
    """All that the audit finds on one airframe, in the author's order, a component once a rule."""

    generators: tuple[Overload, ...]
    wires: tuple[OverWire, ...]
    loads: tuple[Overload, ...]
    order: tuple[NotFirst, ...]
    sides: tuple[Overload, ...]
    """Feeders of a bus that has several, each as if it were the only one left."""
    shorts: tuple[UnclearedShort, ...]
    loops: tuple[Loop, ...]
    judged: Judged
    ratings: tuple[tuple[str, str, OverRating], ...] = ()
    """(source or device in a feeder, condition, how far it is over) with nothing failed, each
    where it is furthest; what `loads` has is left out."""
    long_wires: tuple[LongWire, ...] = ()
    low_volts: tuple[LowVolts, ...] = ()
    low_meters: tuple[LowMeter, ...] = ()
    nearest_loads: tuple[Overload, ...] = ()
    """Of what carries no more than it may, the nearest to that, each where it carries most."""
    nearest_drops: tuple[LongWire, ...] = ()
    """The same of conductors."""
