"""How long batteries last, as plain text; parts of it are on pages too."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from sitegen.answers.endurance.results import Endurance, Flat, Stage
from sitegen.answers.over_rating import allowed_for
from sitegen.catalogue.model import NO_ACTS, Then
from sitegen.quantities import (
    LONGEST_MINUTES,
    NO_BREAK,
    NOT_KNOWN,
    PLAIN,
    Quantities,
    duration,
    from_minute,
    minutes_gained,
)
from sitegen.solver.load_figures import exact
from sitegen.solver.network import Network
from sitegen.terminal.shared_text import allowed_text
from sitegen.words import join_words


def endurance_text(network: Network, endurance: Endurance, then: Then = NO_ACTS) -> Iterator[str]:
    """How long one battery lasts, line by line; `then`: what the crew does."""
    name = network.names[endurance.battery]
    if endurance.capacity is None:
        until = ""
        if endurance.takes_over:
            until = f"nothing draws from it until {opens_text(endurance, network.names)}; then "
        yield f"\n{name}: {until}time not known; the catalogue has no amp-hours."
        return
    sheds = then.sheds or not then.changes_wiring
    if endurance.reaches == "without-limit":
        opens = f", until {opens_text(endurance, network.names)}" if endurance.must_open else ""
        limit = "time not known" if opens else minutes_text(endurance)
        at_first = endurance.recognition.amps or endurance.recognition.unknown
        acted = " after shedding" if sheds else " once the crew has acted"
        shed = acted if at_first else ""
        yield f"\n{name}: nothing draws from it{shed}{opens}; {limit}."
        yield from (f"  {line}" for line in endurance_remarks(network, endurance, network.names))
        return
    yield f"\n{name}: {lasts_text(endurance)}"
    source = network.sources[endurance.battery]
    usable = f"{100 * endurance.asked.usable:g} % of its {source.amp_hours:g} Ah"
    at = f"; amps with it at {PLAIN.volts(endurance.at_volts)}" if endurance.at_volts else ""
    yield f"  from {usable}; minutes are rounded down{at}"
    before, after = endurance.recognition, endurance.cruise
    words = ("before shedding", "after shedding") if endurance.crew_acted else ("at first", "then")
    if endurance.acts_add_load or not sheds:
        words = "before the crew acts", "after the crew has acted"
    stages = [(words[0], before, before.minutes), (words[1], after, after.minutes)]
    if endurance.acts_change_nothing:
        both = None if after.minutes is None else (before.minutes or 0) + after.minutes
        shed = "shed or not," if then.sheds else "with nothing shed"
        stages = [(shed, after, both)]
    for title, stage, minutes in (
        *stages,
        ("landing", endurance.landing, endurance.landing.minutes),
    ):
        if not endurance.is_known:
            yield f"  {title} at {or_more(PLAIN, stage)}"
        elif minutes:
            long = minutes > LONGEST_MINUTES / 2 and (endurance.total or 0) > LONGEST_MINUTES
            time = "the rest" if long else duration(minutes)
            yield f"  {time} {title} at {or_more(PLAIN, stage)}"
    if endurance.landing.minutes:
        yield (
            "  The landing has what is on in this condition; what is turned on to land is not"
            " counted, and shortens the time."
        )
    if endurance.flat_before and endurance.landing.minutes:
        yield "  Another is flat by its minutes without a landing."
    for flat in endurance.flat_before:
        since = f"{from_minute(flat.minute)}, when {network.names[flat.battery]} is flat"
        yield f"  {since}, it gives {or_more(PLAIN, flat)}."
    for remark in endurance_remarks(network, endurance, network.names):
        yield f"  {remark}"
    required = endurance.asked.required_minutes
    if endurance.verdict == "short":
        rule = " (14 CFR 23.1353(h))" if endurance.asked_by_rule else ""
        yield f"  Short of the {required:g} min that the catalogue requires{rule}."
    elif endurance.total is not None and endurance.total < exact(required):
        yield f"  Less than the {required:g} min that the catalogue requires."
    # The more something without a figure draws, the less any other saves.
    bound = "at most " if endurance.unknown else ""
    for gain in endurance.savings[:3]:
        if gain.minutes:
            name = network.names[gain.id]
            yield f"  {name} off as well: {bound}{minutes_gained(gain.minutes)}"


def lasts_text(endurance: Endurance) -> str:
    """How long a battery lasts that has amp-hours, and from which something draws."""
    if not endurance.is_known or endurance.total is None or endurance.longest is None:
        return "time not known; what draws from it is not known"
    if endurance.unknown:
        return f"at most {duration(endurance.longest)}"
    lasts = duration(endurance.total)
    if endurance.up_to is not None:
        lasts += f", up to {duration(endurance.up_to)} depending on battery volts"
    return lasts


def minutes_text(endurance: Endurance | None, something: str = "something") -> str:
    """How long a battery lasts, in few words, and how long if what must open has opened.

    `something`: in answer 3 it is `something else` that must open.
    """
    if endurance is None:
        return "carries nothing"
    total, longest = endurance.total, endurance.longest
    then = "".join(map(once_open_text, endurance.if_it_opens))
    if then and (endurance.reaches == "without-limit" or endurance.takes_over):
        return f"{then} if what is overloaded opens"
    if endurance.reaches == "without-limit":
        lasts = "no limit"
    elif not endurance.is_known or total is None or longest is None:
        return "not known"
    elif endurance.unknown:
        lasts = f"at most {duration(longest)}"
    elif endurance.up_to is None:
        lasts = duration(total)
    else:
        lasts = f"{duration(total)}, up to {duration(longest)}"
    ways = {
        "opens by overload": endurance.if_nothing_opens and not endurance.must_open,
        "moves by volts": endurance.moves_by_volts,
    }
    if endurance.must_open:
        lasts += f" until {something} opens by overload"
    if any(ways.values()):
        lasts += f" if nothing {' or '.join(way for way, here in ways.items() if here)}"
    if endurance.verdict == "short":
        lasts += f" (short of {endurance.asked.required_minutes:g} min)"
    return lasts + (f", then {then}" if then else "")


def once_open_text(endurance: Endurance | None) -> str:
    """How long it lasts in answer 3, in few words."""
    text = minutes_text(endurance, "something else")
    if endurance is None or endurance.total is None or endurance.verdict == "short":
        return text
    required = endurance.asked.required_minutes
    return text + (f" (less than {required:g} min)" if endurance.total < exact(required) else "")


def _once_acted(endurance: Endurance, devices: Sequence[str]) -> str:
    return ", once the crew has acted" if {*devices} <= {*endurance.by_acts} else ""


def opens_text(endurance: Endurance, names: Mapping[str, str]) -> str:
    """`cb opens`, of what must open by overload: its minutes hold until then. Of several, which
    opens first is elsewhere.
    """
    first, *others = endurance.must_open
    return f"{'something' if others else names[first]} opens"


def or_more(quantities: Quantities, given: Stage | Flat) -> str:
    """What a battery gives: `4.0 A or more` where the amps leave something out."""
    if quantities.least_amps(given.amps, bool(given.unknown)) == NOT_KNOWN:
        return "amps not known"
    return quantities.short_amps(given.amps) + (" or more" if given.unknown else "")


def endurance_remarks(
    network: Network, endurance: Endurance, names: Mapping[str, str]
) -> Iterator[str]:
    """What minutes on battery assume, and what is lost before they end.

    `names`: by id the name, or a link in its place.
    """
    if endurance.equally_charged:
        others = join_words([names[b] for b in endurance.equally_charged])
        yield f"If charged higher than {others}, it is flat sooner."
    if endurance.still_closed:
        closed = [names[d] for d in endurance.still_closed]
        they_are = "it is" if len(closed) == 1 else "they are"
        after = _once_acted(endurance, endurance.still_closed)
        yield f"Only until {join_words(closed, 'or')} opens: {they_are} overloaded and must{after}."
        opens = "If it opens" if len(closed) == 1 else "If what is overloaded opens"
        for opened in endurance.if_it_opens:
            yield f"{opens}: {once_open_text(opened)}."
            for remark in endurance_remarks(network, opened, names) if opened else ():
                yield f"{opens}: {remark[0].lower()}{remark[1:]}"
    if endurance.may_open:
        after = _once_acted(endurance, endurance.may_open)
        hold = "hold: they are" if len(endurance.may_open) > 1 else "holds: it is"
        loaded = join_words([names[d] for d in endurance.may_open])
        yield f"Only if {loaded} {hold} overloaded and may open{after}."
    for device, battery, word in endurance.opens_when_flat:
        yield (
            f"Only if {names[device]} holds once {names[battery]} is flat: it is then overloaded"
            f" and {word} open."
        )
    may = endurance.may_open_in_landing
    for word, opening in (
        ("must", [d for d in endurance.opens_in_landing if d not in may]),
        ("may", may),
    ):
        if opening:
            closed = [names[d] for d in opening]
            verb = "holds in the landing: it is"
            if len(closed) > 1:
                verb = "hold in the landing: they are"
            yield f"Only if {join_words(closed)} {verb} then overloaded and {word} open."
    source = network.sources[endurance.battery]
    for flat, given in endurance.over_rating_later(source.amps):
        when = f"once {names[flat]} is flat" if flat else "in the landing"
        amps, percent = or_more(NO_BREAK, given), 100 * given.amps / exact(source.amps or 0)
        allowed = allowed_text(allowed_for(source, given.amps, bool(given.unknown)))
        words = [amps, NO_BREAK.percent(percent), *([allowed] if allowed else [])]
        yield f"Over its rating {when}: {', '.join(words)}."
    required = endurance.asked.required_minutes
    enough = endurance.total is not None and endurance.total >= exact(required)
    if enough and endurance.verdict == "not-known":
        yield f"Whether it lasts the {required:g} min that the catalogue requires is not known."
    if endurance.moves_at_low_volts:
        moves = join_words([f"{names[d]} {verb}" for d, verb in endurance.moves_at_low_volts])
        yield f"Only until {moves}, as the volts go down: then the minutes are others."
    if endurance.moves_at_high_volts:
        moves = join_words([f"{names[d]} {verb}" for d, verb in endurance.moves_at_high_volts])
        yield f"With more volts than in the catalogue {moves}: then the minutes are others."
    if endurance.lost_at_low_volts and source.volts_range:
        lost = join_words([names[i] for i in endurance.lost_at_low_volts])
        yield f"Lost when it is down to {NO_BREAK.volts(source.volts_range[0])}: {lost}."
