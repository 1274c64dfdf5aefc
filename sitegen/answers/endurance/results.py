"""The answer: how long a battery lasts, and why."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import asdict, dataclass, replace
from itertools import groupby
from operator import itemgetter
from typing import Any, Literal

from sitegen.answers.overload import Word
from sitegen.catalogue.model import BatteryTime
from sitegen.quantities import LONGEST_MINUTES, Fraction, duration, for_json
from sitegen.solver.load_figures import exact


@dataclass(frozen=True)
class Stage:
    """One stage of a battery's time."""

    amps: Fraction
    """What the battery gives as the stage begins, A."""
    minutes: Fraction | None
    """How long the battery carries it; None without limit, or where the time is not known."""
    used: Fraction | None
    """What it takes from the battery, A-min; None as for the minutes."""
    unknown: tuple[str, ...]
    """Equipment that draws from the battery, and converters, of which it is not known how much: the
    amps leave it out."""


@dataclass(frozen=True)
class Saving:
    """What a battery gains when one item is turned off."""

    id: str
    """Equipment; of the crew's acts also a switch or a pulled breaker."""
    amps: Fraction
    """What it takes from the battery in the shed cruise when it is left on, A."""
    minutes: Fraction | None
    """By how much longer the battery lasts with it off; None: then it lasts without limit, as far
    as amps are known."""
    spares_another: bool = False
    """It draws from another battery alone, which then goes flat later."""


@dataclass(frozen=True)
class Flat:
    """Another battery has gone flat, and the load of this one changes."""

    battery: str
    """The one that is flat."""
    minute: Fraction
    amps: Fraction
    """What this one gives from that minute on, in the stage that it is in, A."""
    unknown: tuple[str, ...]
    """What then draws from it, it is not known how much: the amps leave it out."""


@dataclass(frozen=True)
class Endurance:
    """How long one battery lasts."""

    battery: str
    asked: BatteryTime
    """What is asked of it: the failure's own, then the battery's, then the catalogue's."""
    capacity: Fraction | None
    """What may be counted on, A-min; None: the catalogue has no amp-hours."""
    recognition: Stage
    """From the failure until the crew has shed, the load as the failure leaves it."""
    cruise: Stage
    """After the crew has acted, until the landing reserve begins."""
    landing: Stage
    """The last minutes, after the crew has acted, with the figures of the landing column."""
    total: Fraction | None
    """All three stages, minutes from the failure; None without limit, or not known."""
    reaches: Literal["recognition", "landing", "through", "without-limit", "not-known"]
    """The stage in which the capacity runs out, at minute `total`: before anything is shed; in the
    landing, with no cruise and less than the reserve; or `through` all three, as it should.
    `without-limit`: nothing draws in the cruise. `not-known`: the battery has no amp-hours, or
    nothing draws but what is `unknown`."""
    flat_before: tuple[Flat, ...]
    """The batteries that are flat before this one, where that changes its load."""
    all_flat_before: tuple[str, ...]
    """All of them, the first first."""
    flat_at: tuple[Fraction, ...]
    """When each of these is flat, minutes."""
    unknown: tuple[str, ...]
    """What is not known: equipment that draws from it, or from one of `flat_before`, and has no
    figure, or draws over a node of which nothing says who carries it; converters there; and
    batteries without amp-hours that share its load. With any of these the time may be shorter."""
    savings: tuple[Saving, ...]
    """What costs most in the shed cruise and could be turned off as well, the most first."""
    bought: tuple[Saving, ...]
    """What the crew's acts have saved, each against leaving that one undone, the most first."""
    up_to: Fraction | None = None
    """The longest total at other volts within the ranges of batteries and converters, where that is
    longer by a whole minute, minutes; more than 4 hours where it has no limit there."""
    at_volts: float | None = None
    """Its own volts at which it is so, where it has a `volts-range`, V."""
    elsewhere: tuple[Endurance, ...] = ()
    """The same at other volts within the ranges, one of each order in which batteries are flat."""
    equally_charged: tuple[str, ...] = ()
    """The batteries that share its load, or would if they were charged higher or less: of batteries
    of unlike charge the higher gives more, and is flat sooner."""
    still_closed: tuple[str, ...] = ()
    """What must open by overload, and is closed here; with nothing failed too."""
    may_open: tuple[str, ...] = ()
    """What may open by overload, at once or after the crew's acts; not with nothing failed."""
    by_acts: tuple[str, ...] = ()
    """Of these two, what must or may only once the crew has acted."""
    opens_when_flat: tuple[tuple[str, str, Word], ...] = ()
    """(device, battery, word): what must or may open by overload once that battery is flat, and
    less so before; it is closed here."""
    opens_in_landing: tuple[str, ...] = ()
    """What must or may open with the figures of the landing column, and less so before."""
    may_open_in_landing: tuple[str, ...] = ()
    """Of these, what may."""
    lost_at_low_volts: tuple[str, ...] = ()
    """What it carries, itself or what that requires, and is lost by the time a battery is at the
    bottom of its `volts-range`."""
    moves_at_low_volts: tuple[tuple[str, str], ...] = ()
    """(device, `opens` or `closes`) of what goes by volts and moves by then: the minutes are those
    until it does."""
    moves_at_high_volts: tuple[tuple[str, str], ...] = ()
    """The same at the top of a range: the minutes are those at the volts of the catalogue."""

    if_it_opens: tuple[Endurance | None, ...] = ()
    """Where any of `still_closed` opens in answer 3: its minutes there; None where it then carries
    nothing."""

    crew_acted: bool = False
    """The minutes are those of a failure about which the crew does something."""

    same_without_acts: bool = True
    """It lasts as long if the crew does nothing of it."""

    moves_without_acts: bool = False
    """Something would move by volts and change its minutes if the crew did nothing."""

    @property
    def acts_change_nothing(self) -> bool:
        """It gives as much before the crew acts as afterwards, and lasts as long if an act, or all
        of them, were undone; so too if what must open has opened.
        """
        before, after = self.recognition, self.cruise
        same = before.amps == after.amps and before.unknown == after.unknown
        same &= all(one.acts_change_nothing for one in self.once_open)
        return not self.bought and same and self.same_without_acts and not self.moves_without_acts

    @property
    def once_open(self) -> tuple[Endurance, ...]:
        """The same in answer 3, where something must open and it then carries something."""
        return tuple(one for one in self.if_it_opens if one)

    @property
    def takes_over(self) -> bool:
        """It carries nothing until something opens that must."""
        stages = self.recognition, self.cruise, self.landing
        draws = any(stage.amps or stage.unknown for stage in stages) or self.flat_before
        return bool(self.once_open) and not draws

    @property
    def acts_add_load(self) -> bool:
        """What the crew does makes it give more than before, or keeps on what would open."""
        before, after = self.recognition, self.cruise
        more = before.amps < after.amps or self.moves_without_acts
        return self.crew_acted and more and {*before.unknown} <= {*after.unknown}

    @property
    def moves_by_volts(self) -> bool:
        """Something moves within the batteries' ranges, and the minutes are others then."""
        return bool(self.moves_at_low_volts or self.moves_at_high_volts)

    @property
    def asked_by_rule(self) -> bool:
        """14 CFR 23.1353(h), 1-1-14 edition, asks for these minutes: 30 up to 25,000 ft, 60 above
        (from memory).
        """
        return self.asked.required_minutes in (30, 60)

    @property
    def longest(self) -> Fraction | None:
        """The total at the volts at which it lasts longest."""
        return self.total if self.up_to is None else self.up_to

    @property
    def is_known(self) -> bool:
        """It has minutes to tell. With anything `unknown` they are at most `longest`, and beyond 4
        hours that says nothing.
        """
        return self.longest is not None and not (self.unknown and self.longest > LONGEST_MINUTES)

    @property
    def flat_together(self) -> tuple[tuple[Fraction, tuple[str, ...]], ...]:
        """(minute, batteries): of `all_flat_before`, those that end at the same minute together."""
        before = zip(self.flat_at, self.all_flat_before, strict=True)
        return tuple(
            (minute, tuple(battery for _, battery in some))
            for minute, some in groupby(before, key=itemgetter(0))
        )

    @property
    def flat_before_landing(self) -> int:
        """How many steps of `flat_together` come before the landing; without limit none."""
        if self.total is None:
            return 0
        land = self.total - (self.landing.minutes or 0)
        return sum(minute <= land for minute, _ in self.flat_together)

    @property
    def at_any_volts(self) -> tuple[Endurance, ...]:
        """Itself, and those at other volts at which batteries are flat in another order."""
        return self, *self.elsewhere

    @property
    def must_open(self) -> tuple[str, ...]:
        """What must open by overload, at once or later: the minutes hold only until it does."""
        later = [device for device, _, word in self.opens_when_flat if word == "must"]
        landing = [d for d in self.opens_in_landing if d not in self.may_open_in_landing]
        return tuple(dict.fromkeys((*self.still_closed, *later, *landing)))

    @property
    def if_nothing_opens(self) -> bool:
        """These are minutes that hold only while nothing opens by overload."""
        at_once = self.still_closed or self.may_open
        return bool(at_once or self.opens_when_flat or self.opens_in_landing)

    def over_rating_later(self, rating: float | None) -> list[tuple[str, Flat | Stage]]:
        """(battery, what this one gives) where that is over its rating and more than before: once
        the other is flat; in the landing, with none.
        """
        later: list[tuple[str, Flat | Stage]] = [(flat.battery, flat) for flat in self.flat_before]
        if self.landing.minutes:
            later.append(("", self.landing))
        most, found = max(self.recognition.amps, self.cruise.amps, exact(rating or 0)), []
        for battery, given in later:
            if rating and given.amps > most:
                most = given.amps
                found.append((battery, given))
        return found

    @property
    def verdict(self) -> Literal["short", "not-known", "enough"]:
        """The total against what is required; `not-known` where figures are missing.

        So it is where a device moves before the end, or opens by overload.
        `short` is certain where figures are missing: what has none only makes it shorter.
        """
        if self.moves_by_volts or self.if_nothing_opens:
            return "not-known"
        if self.total is not None and self.total < exact(self.asked.required_minutes):
            return "short"
        return "not-known" if self.unknown or self.capacity is None else "enough"

    def with_unknown(self, unknown: Collection[str]) -> Endurance:
        """The same with all that is not known of it."""
        reaches = "not-known" if unknown and self.total is None else self.reaches
        return replace(self, unknown=tuple(sorted(unknown)), reaches=reaches)

    def lasts_the_same(self, other: Endurance) -> bool:
        """The same battery for the same time as it is printed, also if what must open has opened,
        and no act of the crew helps.
        """
        same = self.battery == other.battery and self.reaches == other.reaches
        same &= self.unknown == other.unknown and self.must_open == other.must_open
        same &= self.if_nothing_opens == other.if_nothing_opens
        same &= len(self.if_it_opens) == len(other.if_it_opens)
        for one, there in zip(self.if_it_opens, other.if_it_opens, strict=False):
            same &= one.lasts_the_same(there) if one and there else one is there
        for long, as_long in ((self.total, other.total), (self.up_to, other.up_to)):
            same &= (long and duration(long)) == (as_long and duration(as_long))
        return same and not self.bought

    def as_json(self) -> dict[str, Any]:
        """The endurance as plain values, for a program to read."""
        plain = _plain(asdict(replace(self, elsewhere=(), if_it_opens=())))
        del plain["elsewhere"]
        return {
            **plain,
            "if_it_opens": [one and one.as_json() for one in self.if_it_opens],
            "asked": self.asked.model_dump(),
            "verdict": self.verdict,
        }


def _plain(value: Any) -> Any:
    """Fractions as numbers, to a thousandth."""
    if isinstance(value, Fraction):
        return for_json(value)
    if isinstance(value, dict):
        return {key: _plain(one) for key, one in value.items()}
    return [_plain(one) for one in value] if isinstance(value, (list, tuple)) else value
