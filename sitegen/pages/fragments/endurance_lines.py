"""How long the batteries last: on a failure's page, in words and as a time line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from sitegen.answers.drop import Loss
from sitegen.answers.endurance.airframe_endurance import Endurances, batteries_under_load
from sitegen.answers.endurance.results import Endurance, Stage
from sitegen.catalogue.model import NO_ACTS, Failure, Then
from sitegen.pages.links import condition_time
from sitegen.pages.page_context import PageContext
from sitegen.pages.views import ShownIn, by_view, classes, shown_in, with_classes
from sitegen.quantities import (
    LONGEST_MINUTES,
    NO_BREAK,
    Fraction,
    decimals,
    duration,
    whole_minutes,
)
from sitegen.solver.load_figures import exact
from sitegen.terminal.endurance_text import endurance_remarks, once_open_text, opens_text, or_more

HOURS_FROM = 120
"""From this many minutes on, hours are shown as well."""


@dataclass(frozen=True)
class StageLine:
    """One stage in the time line and in the list under it."""

    kind: str
    """`before`, `after` or `landing`: its pattern."""
    name: str
    words: str
    width: str
    """Its share of the time line, %; empty where there is no time line."""


@dataclass(frozen=True)
class EnduranceText:
    """What the page says of one battery."""

    endurance: Endurance
    views: int
    """The mask of the views in which it shows."""
    classes: str
    """The same as classes of an element."""
    lasts: str
    unit: str
    hours: str
    stages: tuple[StageLine, ...]
    missing: str
    """The minutes by which it is too short; empty if it is not."""
    missing_width: str
    """Their share of the time line, %."""
    unknown: tuple[str, ...]
    """Equipment of which it is not known how much it draws from it, by name."""
    then: Then
    """What the crew does about the failure."""
    remarks: tuple[Markup, ...]
    """What the minutes assume, and what is lost before they end; with links."""
    as_before: bool
    """It lasts as long with nothing failed."""
    opens: str
    """`cb opens`: until then its minutes hold; empty where nothing must open by overload."""
    elsewhere: str
    """The place that says all of it, where no stage is otherwise with nothing failed."""
    after_crew: bool
    """Nobody has to land, and the crew has something else to do first, as to leave the aircraft."""

    @property
    def _only_then(self) -> bool:
        """What it has to tell are its minutes once something has opened that must."""
        one = self.endurance
        return one.takes_over or bool(one.reaches == "without-limit" and one.if_it_opens)

    @property
    def first_words(self) -> str:
        """The same as `in_short`; where it has no limit until something opens, what is then."""
        if not self._only_then:
            return self.in_short
        words = once_open_text(self.endurance.if_it_opens[0])
        return words[0].upper() + words[1:]

    @property
    def until(self) -> str:
        """Whether that holds where something must open by overload."""
        return "if what is overloaded opens" if self._only_then else f"until {self.opens}"

    @property
    def if_it_opens(self) -> str:
        """Its minutes then, where other ones come first: `if it does: 19 min`."""
        one = self.endurance
        if self._only_then or one.capacity is None or not one.if_it_opens:
            return ""
        return f"if it does: {once_open_text(one.if_it_opens[0])}"

    @property
    def holds(self) -> tuple[str, ...]:
        """As long as what, and if what, its minutes are right."""
        one, found = self.endurance, []
        if one.equally_charged:
            found.append("batteries equally charged")
        if self.opens:
            found.append(self.until)
        elif one.if_nothing_opens:
            found.append("if nothing opens by overload")
        if one.moves_at_low_volts:
            found.append("until a device moves at low volts")
        if one.moves_at_high_volts:
            found.append("unless a device moves at high volts")
        return tuple(found)

    @property
    def against_required(self) -> str:
        """Its minutes beside those that are required; empty where it has none, or hours."""
        one = self.endurance
        if self.missing:
            return f"{self.missing} min less than required"
        if one.total is None or self.is_long:
            return ""
        required = exact(one.asked.required_minutes)
        words = f"{one.asked.required_minutes:g} min required"
        if one.total < required:
            return f"less than the {words}"
        if self.is_tight:
            return f"{words}; what is turned on to land shortens it"
        doubtful = one.verdict == "not-known" and not one.if_nothing_opens
        if doubtful and not one.moves_by_volts:
            return f"{words}, whether it lasts so long is not known"
        return words

    @property
    def when_acting(self) -> str:
        """What the crew does that changes the time, and when."""
        one, every = self.endurance, (self.endurance, *self.endurance.once_open)
        bought = {saving.id for each in every for saving in each.bought}
        turned_off = {*self.then.shed, *self.then.pulled}
        if not one.acts_add_load and bought & turned_off:
            return f"shed {self.acting}"
        if one.acts_add_load or bought or not all(each.same_without_acts for each in every):
            return f"the crew acting {self.acting}"
        if not (one.crew_acted and self.is_shed):
            return "nothing shed"
        return "flat before anything is shed" if one.reaches == "recognition" else "shed or not"

    @property
    def is_shed(self) -> bool:
        """The crew turns something off, of this battery or not."""
        return self.then.sheds

    @property
    def acting(self) -> str:
        """When the crew acts, which the time from the failure on depends on: `at minute 5`."""
        minute = self.endurance.asked.recognition_minutes
        return f"at minute {minute:g}" if minute else "at once"

    @property
    def ample(self) -> bool:
        """More than any flight needs, whatever opens: nothing to say in large type."""
        one = self.endurance
        sure = one.once_open or not one.if_nothing_opens
        return bool(sure) and all(map(_is_long, (one, *one.once_open)))

    @property
    def is_long(self) -> bool:
        """The same of its minutes until something opens."""
        return _is_long(self.endurance)

    @property
    def is_tight(self) -> bool:
        """It lasts as long as required, and less than twice as long: a landing's extras matter."""
        one = self.endurance
        twice = 2 * exact(one.asked.required_minutes)
        return bool(one.verdict == "enough" and one.landing.minutes and (one.total or 0) < twice)

    @property
    def in_short(self) -> str:
        """The total in one phrase: `31 to 32 min`, `at most 40 min`, `More than 4 hours`."""
        up_to = self.endurance.up_to
        if not self.unit:
            return self.lasts
        if self.endurance.unknown:
            return f"at most {self.lasts} min"
        if up_to is not None:
            longest = duration(up_to)
            return (
                f"{self.lasts} to {longest}"
                if "hour" not in longest
                else f"{self.lasts} min or more"
            )
        return f"{self.lasts} min"


@dataclass(frozen=True)
class BatteryLines:
    """What the answer of a page says of one battery: first what all its minutes share."""

    battery: str
    classes: str
    holds: tuple[str, ...]
    """Of all of them."""
    against_required: str
    """The same where it is of all of them, else empty."""
    rows: tuple[EnduranceText, ...]


def by_battery(rows: Sequence[EnduranceText], count: int) -> Iterator[BatteryLines]:
    """What a page with this number of views says of batteries: in each view each once."""
    for battery in dict.fromkeys(row.endurance.battery for row in rows):
        numbers = [k for k, row in enumerate(rows) if row.endurance.battery == battery]
        in_views = [tuple(k for k in numbers if rows[k].views >> v & 1) for v in range(count)]
        for shown, where in with_classes([found or None for found in in_views]):
            of_one = tuple(rows[k] for k in shown)
            first = of_one[0]
            holds = tuple(h for h in first.holds if all(h in row.holds for row in of_one))
            same = all(row.against_required == first.against_required for row in of_one)
            # What they lack, and what shortens them, is said beside them.
            same = same and not first.missing and not first.is_tight
            required = first.against_required if same else ""
            yield BatteryLines(battery, where, holds, required, of_one)


def _is_long(one: Endurance) -> bool:
    return one.is_known and (one.total or 0) > LONGEST_MINUTES


def endurances(
    context: PageContext,
    losses: Sequence[Loss],
    lasting: Sequence[Endurances],
    failure: Failure | None = None,
) -> ShownIn | None:
    """The part of a page that says how long the batteries last; None if no battery carries load.

    Parameters
    ----------
    context : the airframe's.
    losses : by view, its losses.
    lasting : by view, the endurances of its condition. Shown is a battery that carries load in the
        view, or takes over later.
    failure : the named failure about which the crew acts.
    """
    network = context.answers.network
    shown: list[tuple[tuple[Endurance, bool, str, int, bool], ...]] = []
    thens: dict[int, Then] = {}
    before = context.endurances.with_nothing_failed
    for loss, here in zip(losses, lasting, strict=True):
        up = batteries_under_load(network, loss) if here else frozenset()
        then = failure.crew_does(loss.condition) if failure else NO_ACTS
        thens[id(then)] = then
        noted = bool(failure and failure.crew_note(loss.condition))
        shown.append(
            tuple(
                (
                    one,
                    any(map(one.lasts_the_same, before[loss.condition])),
                    condition_time(loss.condition) if one in before[loss.condition] else "",
                    id(then),
                    noted and not one.asked.landing_minutes,
                )
                for one in here
                if _is_shown(one, up)
            )
        )
    order = list(network.sources)
    texts = [
        _text(context, one, (mask, len(losses)), thens[acts], as_before, elsewhere, after_crew)
        for (one, as_before, elsewhere, acts, after_crew), mask in sorted(
            by_view(shown).items(), key=lambda item: order.index(item[0][0].battery)
        )
    ]
    return shown_in(shown, texts)


def with_nothing_failed(context: PageContext, condition: str) -> list[EnduranceText]:
    """What the page of conditions says of the batteries that carry load in one, or take over."""
    here = context.endurances.with_nothing_failed[condition]
    [normal] = [loss for loss in context.answers.normal if loss.condition == condition]
    up = batteries_under_load(context.answers.network, normal)
    return [_text(context, one, (1, 1)) for one in here if _is_shown(one, up)]


def _is_shown(endurance: Endurance, under_load: frozenset[str]) -> bool:
    """Whether a battery carries load, or takes over when another is flat or something opens."""
    takes_over = bool(endurance.flat_before and under_load) or any(endurance.if_it_opens)
    return endurance.battery in under_load or takes_over


def _text(
    context: PageContext,
    endurance: Endurance,
    where: tuple[int, int],
    then: Then = NO_ACTS,
    as_before: bool = False,
    elsewhere: str = "",
    after_crew: bool = False,
) -> EnduranceText:
    network = context.answers.network
    items = [u for u in endurance.unknown if u in network.equipment]
    opens = opens_text(endurance, network.names) if endurance.must_open else ""
    lasts, unit, hours = _lasts(endurance, opens)
    short = endurance.verdict == "short" and endurance.total is not None
    # As the minutes are rounded down, what is missing is counted from them.
    missing = endurance.asked.required_minutes - whole_minutes(endurance.total or 0)
    line = (endurance.total or Fraction()) + (exact(missing) if short else 0)
    return EnduranceText(
        endurance=endurance,
        views=where[0],
        classes=classes(*where),
        lasts=lasts,
        unit=unit,
        hours=hours,
        stages=tuple(_stages(endurance, line, then)),
        missing=f"{missing:g}" if short else "",
        missing_width=decimals(100 * exact(missing) / line, 1) if short else "",
        unknown=tuple(sorted(items, key=lambda i: (network.names[i], i))),
        then=then,
        # Text of our own, and links in which the names are escaped.
        remarks=tuple(map(Markup, endurance_remarks(network, endurance, context.fragments.links))),
        as_before=as_before,
        opens=opens,
        elsewhere=elsewhere,
        after_crew=after_crew,
    )


def _lasts(endurance: Endurance, opens: str) -> tuple[str, str, str]:
    """The total: figure or word, unit, and the same in hours where it is long."""
    if endurance.reaches == "without-limit":
        nothing = "nothing with a figure draws from it"
        holds = ", if nothing opens by overload" if endurance.if_nothing_opens else ""
        limit = "No limit", "", f"{nothing}{holds}"
        return ("Not known", "", f"{nothing} until {opens}") if opens else limit
    if not endurance.is_known or endurance.total is None:
        return "Not known", "", ""
    partly = bool(endurance.unknown)
    if endurance.total > LONGEST_MINUTES:
        return duration(endurance.total).capitalize(), "", ""
    whole = whole_minutes((endurance.longest if partly else None) or endurance.total)
    hours = f"{whole // 60} h {whole % 60} min" if whole >= HOURS_FROM else ""
    if endurance.up_to is not None and not partly:
        hours = f"up to {duration(endurance.up_to)} depending on battery volts"
    return str(whole), "min", hours


def _stages(endurance: Endurance, line: Fraction, then: Then) -> Iterator[StageLine]:
    """The stages, and their part of the minutes of the time line; where nothing changes when the
    crew acts, the first two are one.
    """
    before, after, landing = endurance.recognition, endurance.cruise, endurance.landing
    begin = [
        whole_minutes(before.minutes or 0),
        whole_minutes((before.minutes or 0) + (after.minutes or 0)),
        whole_minutes(endurance.total or 0),
    ]
    words = ("Before shedding", "Shed") if endurance.crew_acted else ("At first", "Then")
    if endurance.acts_add_load or (endurance.crew_acted and not then.sheds):
        words = "Before the crew acts", "The crew has acted"
    if endurance.acts_change_nothing:
        both = None if after.minutes is None else (before.minutes or 0) + after.minutes
        shed = "Shed or not" if endurance.crew_acted and then.sheds else "Nothing shed"
        yield _stage(endurance, line, "after", shed, after, both, begin[1])
    else:
        if before.minutes is None or before.minutes > 0:
            yield _stage(endurance, line, "before", words[0], before, before.minutes, begin[0])
        if endurance.reaches != "recognition":
            rest = begin[1] - begin[0]
            yield _stage(endurance, line, "after", words[1], after, after.minutes, rest)
    if endurance.reaches != "recognition" and (landing.minutes is None or landing.minutes > 0):
        whole = (
            whole_minutes(landing.minutes or 0) if endurance.total is None else begin[2] - begin[1]
        )
        yield _stage(endurance, line, "landing", "Landing", landing, landing.minutes, whole)


def _stage(
    endurance: Endurance,
    line: Fraction,
    kind: str,
    name: str,
    stage: Stage,
    minutes: Fraction | None,
    whole: int,
) -> StageLine:
    at = or_more(NO_BREAK, stage)
    if minutes is None or (kind == "after" and (endurance.total or 0.0) > LONGEST_MINUTES):
        return StageLine(kind, name, at, "")
    width = decimals(100 * minutes / line, 1) if endurance.total is not None and line else ""
    return StageLine(kind, name, f"{whole} min at {at}", width)
