"""The first sentences of an answer: what is lost, and whatever else is true.

A name may be that of one thing or of several ('Cabin lights'), so no verb that has a plural follows
one: it comes first, and the names after a colon.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from sitegen.answers.besides import Besides, Loaded, besides
from sitegen.answers.dip_decides import deciding
from sitegen.answers.drop import Loss
from sitegen.quantities import PLAIN
from sitegen.solver.network import Network
from sitegen.terminal.shared_text import allowed_text
from sitegen.words import counted, join_words

MOST_NAMED = 3
"""So few are named; more are counted."""


_ASSUMED = (
    "Fuse links and breakers clear a short at once; contactors {} unless the catalogue says"
    " otherwise; by the wiring alone."
)
ASSUMED = _ASSUMED.format("ride through")
"""What an answer takes for granted."""

MORE = (
    ("comes_on", "will come on"),
    ("turned_on", "will come on"),
    ("shed", "will be turned off"),
    ("chatter", "will chatter"),
    ("driven", "may be driven by other sources"),
)
"""What another answer may have more of: a field of `Loss`, and what these do."""
LOADED = {
    "must_open": "must open by overload",
    "over_rating": "will be over rating",
    "no_reserve": "will have no battery left to take over",
    "battery_amps": "will give more amps and be flat sooner",
}
"""What another answer may load more: a field of `Besides`, and what these do."""
LEFT = (
    ("reduced", "with one supply or alternative less"),
    ("on_battery", "on battery only"),
    ("not_known", "in a state that is not known"),
)
"""What another answer may leave otherwise: a field of `Loss`, and how these are left."""


def assumed(is_dip: bool) -> str:
    """What an answer takes for granted: with `is_dip`, that contactors drop out."""
    return _ASSUMED.format("drop out while it lasts") if is_dip else ASSUMED


def headline(
    network: Network, loss: Loss, normal: Loss, dip: Loss | None = None, is_dip: bool = False
) -> tuple[str, ...]:
    """Sentences, the losses first; where there are none, whatever else is true comes first.

    'Nothing is lost' is said only where nothing else is true.

    Parameters
    ----------
    network, loss : the airframe and the answer.
    normal : the same condition with nothing failed.
    dip : the same failure if contactors drop out, where it may differ.
    is_dip : `loss` is that answer, and `dip` the one to expect.
    """
    more = besides(network, loss, normal, dip)
    working = len(normal.kept) + len(normal.reduced) + len(normal.not_known)
    if loss.lost:
        functions = len(more.functions_lost)
        also = f" and {counted(functions, 'function')}" if functions else ""
        first = f"You lose {len(loss.lost)} of {working} working items{also}."
        turned_off = _functions_off(network, more)
        battery = _newly_on_battery(more)
        return (first, *turned_off, *battery, *sentences(network, loss, more, normal, is_dip))
    if loss.shed:
        off = f"The crew turns off {_named(network, loss.shed)}."
        said = sentences(network, loss, more, normal, is_dip)
        return (*said, off, *_functions_off(network, more), "No other item is lost.")
    if more.nothing and not no_longer_opens(loss):
        return (f"Nothing is lost: all {working} working items still work.",)
    surely = " surely" if more.not_known else ""
    return (*sentences(network, loss, more, normal, is_dip), f"No item is{surely} lost.")


def none_lost(network: Network, loss: Loss, more: Besides) -> str:
    """The largest words of a page where no item is lost or comes on: what else matters most."""
    if more.not_known:
        return f"Not known: {counted(len(more.not_known), 'item')}"
    for what, ids in (
        ("Live now", [i for i in more.comes_live if i not in network.sources]),
        ("Terminals live now", [i for i in more.comes_live if i in network.sources]),
        ("Driven", more.driven),
    ):
        if ids:
            return f"{what}: {join_words([network.names[i] for i in ids], most=2)}"
    nothing = more.nothing and not no_longer_opens(loss)
    return "Nothing is lost" if nothing else "No item is lost"


def no_longer_opens(loss: Loss) -> list[str]:
    """What has failed closed: it neither trips nor follows a command, a switch or a hand."""
    return [c for c, mode in loss.failed if mode == "stuck-closed" and loss.conducts[c]]


def in_few_words(loss: Loss) -> str:
    """`3 lost, 1 comes on`; empty where nothing is lost, comes on or is not known."""
    lost, on, unsure = len(loss.lost), len(loss.comes_on), len(loss.not_known)
    words = (
        f"{lost} lost" if lost else "",
        f"{on} come{'s' if on == 1 else ''} on" if on else "",
        f"{unsure} not known" if unsure else "",
    )
    return ", ".join(filter(None, words))


def at_a_glance(network: Network, loss: Loss, normal: Loss) -> str:
    """The same for a list of failures: where nothing is lost, the worst of what else is true."""
    if loss.lost or loss.comes_on:
        return in_few_words(loss)
    more = besides(network, loss, normal)
    worst = (
        (more.not_known, f"{len(more.not_known)} not known"),
        (more.must_open, "overloaded"),
        (more.driven, "a generator may be driven"),
        (more.comes_live, "power where there was none"),
        (more.no_reserve, "no battery left to take over"),
        (more.over_rating, "over its rating"),
        (more.reduced, f"{len(more.reduced)} reduced"),
        (more.newly_on_battery, f"{len(more.newly_on_battery)} on battery"),
        (more.may_open, "may be overloaded"),
    )
    return next((f"none lost, {words}" for ids, words in worst if ids), "none lost")


def other_answers(loss: Loss, dip: Loss | None = None) -> dict[str, str]:
    """By what is assumed, the same of the other answers that do otherwise in one of these.

    Parameters
    ----------
    loss : answer 1, with its answer 3 where something is overloaded.
    dip : the same failure if contactors drop out, where it may differ.
    """
    others = {"if contactors drop out": dip, "if what is overloaded opens": loss.overload}
    return {
        assumed: in_few_words(other) or "none lost"
        for assumed, other in others.items()
        if other is not None
        and (other.lost, other.comes_on, other.not_known)
        != (loss.lost, loss.comes_on, loss.not_known)
    }


def in_every_answer(first: str, loss: Loss, dip: Loss | None = None, where: str = "") -> str:
    """`6 lost; 153 lost if contactors drop out`, where `first` is what is said of answer 1.

    `where` goes with the first.
    """
    others = (f"{words} {assumed}" for assumed, words in other_answers(loss, dip).items())
    return "; ".join((f"{first}{where}", *others))


def turned_off(acted: Loss | None) -> str:
    """`; the crew turns off 14`, after what is lost at once; empty where it turns off nothing."""
    return f"; the crew turns off {len(acted.shed)}" if acted and acted.shed else ""


def on_a_button(first: str, loss: Loss, dip: Loss | None = None) -> str:
    """The same where there is little room: `6 or 153 lost`."""
    words = dict.fromkeys((first, *other_answers(loss, dip).values()))
    numbers = [w.removesuffix(" lost") for w in words if w.endswith(" lost") and "," not in w]
    if len(numbers) == len(words):
        return f"{' or '.join(numbers)} lost"
    return ", or ".join(words)


def sentences(
    network: Network, loss: Loss, more: Besides, normal: Loss, is_dip: bool = False
) -> Iterator[str]:
    """What is true besides the losses, a sentence each; `normal` and `is_dip` as in `headline`."""
    if more.comes_on:
        yield f"Comes on: {_named(network, more.comes_on)}."
    if more.turned_on:
        yield f"The crew turns on {_named(network, more.turned_on)}."
    if more.comes_live:
        yield f"Power now, and none before: {_named(network, more.comes_live)}."
        for node in more.comes_live:
            if node in network.hazards:
                yield f"Hazard, {network.names[node]}: {network.hazards[node]}."
    if more.not_known:
        where = join_words([network.names[b] for b in more.conflicts])
        work, do = ("works", "it does") if len(more.not_known) == 1 else ("work", "they do")
        yield (
            f"AC sources that are not synchronised meet on {where}: whether"
            f" {counted(len(more.not_known), 'item')} there {work} is not known; what depends on"
            f" this, functions, meters and lamps too, is shown as if {do}."
        )
    elif more.conflicts:
        where = join_words([network.names[b] for b in more.conflicts])
        yield f"AC sources that are not synchronised meet on {where}."
    for generator in more.driven:
        yield (
            f"Does not produce, though its terminals are live: {network.names[generator]}. Other"
            " sources may drive it as a motor; what that takes is in no figure."
        )
    for component in more.failed_resets:
        again = "Stalls" if component in loss.stalled else "Trips"
        yield f"{again} again once reset: {network.names[component]}."
    if stuck := no_longer_opens(loss):
        yield f"No longer opens: {_named(network, stuck)}."
    if more.reduced and not loss.lost:
        works = "works" if len(more.reduced) == 1 else "work"
        yield f"{counted(len(more.reduced), 'item')} {works} with one supply or alternative less."
    if not loss.lost:
        yield from _newly_on_battery(more)
    if more.no_reserve:
        yield f"No battery left to take over: {_buses(network, more.no_reserve)}."
    for devices, opens in ((more.must_open, "must"), (more.may_open, "may")):
        if devices:
            them = "".join(in_order(network, loss, devices)) if opens == "must" else ""
            yield f"Overloaded and {opens} open: {them or _named(network, devices)}."
    same: dict[tuple[bool, str, str], list[str]] = {}
    for component in more.over_rating:
        over = loss.over_rating[component]
        percent = f"{over.bound}{PLAIN.percent(over.percent)}"
        short_time = f", {allowed_text(over.allowed_for)}" if over.allowed_for else ""
        key = component in network.sources, percent, short_time
        same.setdefault(key, []).append(component)
    for (is_source, percent, short_time), components in same.items():
        gives = "Gives" if is_source else "Carries"
        yield f"{gives} {percent} of rating{short_time}: {_named(network, components)}."
        if is_source and (others := _in_reserve(network, loss, components)):
            what = "it" if len(components) == 1 else "they"
            helping = join_words([network.names[s] for s in others])
            yield f"What {what} cannot give, {helping} may: that is in no figure."
    if more.overload is not None:
        then = _difference(network, loss, more, more.overload, normal, more.overload_loads)
        opens = "is overloaded opens" if more.must_open else "was overloaded at once has opened"
        yield f"If what {opens}, {then}."
    opened = [d for d in more.must_open if d in (more.overload or loss).opened]
    if opened and (others := [d for d in more.must_open if d not in opened]):
        opens = "opens" if len(opened) == 1 else "open"
        does = "does" if len(others) == 1 else "do"
        yield (
            f"That is if {_named(network, opened)} {opens} first; if"
            f" {_few([network.names[d] for d in others], 'devices')} {does}, it may be otherwise."
        )
    yield from _if_contactors_do_otherwise(network, loss, more, normal, is_dip)


def _if_contactors_do_otherwise(
    network: Network, loss: Loss, more: Besides, normal: Loss, is_dip: bool
) -> Iterator[str]:
    """The answer of the other contactors, and what its overload takes that no other answer says."""
    do = "ride through the fault" if is_dip else "drop out while the fault lasts"
    dip, opened = more.dip, more.dip_overload
    if dip is not None:
        then = _difference(network, loss, more, dip, normal, more.dip_loads)
        yield f"If contactors {do}, {then}."
    if opened is not None:
        than = dip or loss
        of_it = besides(network, replace(than, overload=opened), normal)
        then = _difference(network, than, of_it, opened, normal, of_it.overload_loads)
        if dip is None:
            yield f"If contactors {do} and what is overloaded then has opened, {then}."
        else:
            yield f"If what is overloaded then has opened too, {then}."
    if dip is not None or opened is not None:
        yield _which_fits(network, loss)


def _in_reserve(network: Network, loss: Loss, sources: Sequence[str]) -> list[str]:
    """The sources that reach what these carry, through converters too, and carry nothing there."""
    carrying, found = {*sources}, set[str]()
    for _ in network.sources:
        nodes = [node for node in loss.nodes.values() if carrying & {*node.carriers}]
        found.update(s for node in nodes for s in node.sources if s not in node.carriers)
        carrying.update(
            converter
            for converter, inputs in network.inputs.items()
            for branch in inputs
            if carrying & {*loss.nodes[branch.origin].carriers}
            and all(loss.conducts[d] for d in branch.through)
        )
    return [s for s in network.sources if s in found - carrying]


def _which_fits(network: Network, loss: Loss) -> str:
    """What to look up, since the catalogue does not say which answer fits."""
    devices = deciding(network, loss.condition, loss.failed)
    if not devices:
        return "The catalogue does not say which of the two fits."
    do, types = (
        ("do", "they are ride-through types")
        if len(devices) > 1
        else ("does", "it is a ride-through type")
    )
    return (
        f"The catalogue does not say whether {_named(network, devices)} {do}: look up if {types}."
    )


def _functions_off(network: Network, more: Besides) -> Iterator[str]:
    if more.functions_off:
        names = [network.names[f] for f in more.functions_off]
        yield f"Functions turned off: {_few(names, 'functions')}."


def _newly_on_battery(more: Besides) -> Iterator[str]:
    if more.newly_on_battery:
        are = "item is" if len(more.newly_on_battery) == 1 else "items are"
        yield f"{len(more.newly_on_battery)} {are} now on battery only."


def _difference(
    network: Network, loss: Loss, more: Besides, other: Loss, normal: Loss, loaded: Loaded
) -> str:
    """In what another answer differs, as the end of a sentence.

    What is reduced or on battery only follows from the losses, where these differ.
    """
    lost = []
    if other.lost != loss.lost:
        items = counted(len(other.lost) or "no", "item")
        lost.append(items if len(other.lost) != len(loss.lost) else "other items")
    then_off = besides(network, other, normal).functions_off
    ended = [f for f, state in other.functions.items() if state == "lost"]
    kept = [f for f in ended if loss.functions[f] != "lost"]
    if gone := [f for f in ended if f not in then_off and f in (*kept, *more.functions_off)]:
        lost.append(_more_functions(network, gone))
    clauses = [f"you lose {' and '.join(lost)}"] if lost else []
    if off := [f for f in then_off if f in kept]:
        clauses.append(f"what is turned off ends {_more_functions(network, off)}")
    for field, words in MORE:
        only_then = [i for i in getattr(other, field) if i not in getattr(loss, field)]
        if only_then:
            clauses.append(f"{_named(network, only_then)} {words}")
    clauses += [f"{_named(network, ids)} {LOADED[field]}" for field, ids in loaded]
    for field, words in () if other.lost != loss.lost else LEFT:
        left = getattr(other, field)
        # Of what no longer works at all it is no news that it is not on battery.
        if left != getattr(loss, field) and (left or other.shed == loss.shed):
            is_left = "is left" if len(left) == 1 else "are left"
            clauses.append(f"{counted(len(left) or 'no', 'item')} {is_left} {words}")
    return join_words(clauses) or "not all of this holds"


def _more_functions(network: Network, functions: Sequence[str]) -> str:
    names = [network.names[f] for f in functions]
    return f"{counted(len(names), 'more function')} ({_few(names, 'functions')})"


def _buses(network: Network, ids: Sequence[str]) -> str:
    return _named(network, ids) if len(ids) <= MOST_NAMED else f"{len(ids)} buses"


def in_order(network: Network, loss: Loss, devices: Sequence[str]) -> tuple[str, str]:
    """`a and b`, of what is overloaded; where one that opens relieves others, `a or b` and which
    opens first.
    """
    opened = (loss.overload or loss).opened
    first, relieved = (
        [d for d in devices if (d in opened) == is_open] for is_open in (True, False)
    )
    if not first or not relieved:
        return _named(network, devices), ""
    either = join_words([network.names[d] for d in (*first, *relieved)], "or")
    return either, f", {_named(network, first)} first as the most overloaded"


def _named(network: Network, ids: Sequence[str]) -> str:
    return _few([network.names[i] for i in ids])


def _few(names: Sequence[str], noun: str = "items") -> str:
    if len(names) > MOST_NAMED + 1:
        names = [*names[:MOST_NAMED], f"{len(names) - MOST_NAMED} more {noun}"]
    return join_words(names)
