"""What the answers on a terminal share: the caution, headings, failures, places, sections."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence

from sitegen.answers.cut_sets import LARGEST_SET, GroupedSet, as_products, largest_set, set_count
from sitegen.answers.drop import Loss, is_fed
from sitegen.answers.named_failures import NamedEffect
from sitegen.answers.single_failures import CONFLICT, SingleFailure
from sitegen.answers.three_answers import REMARKS, Answer
from sitegen.catalogue.model import Condition, Then
from sitegen.quantities import Quantities
from sitegen.solver.network import Connection, Network
from sitegen.solver.scenarios import Fault
from sitegen.words import LINKED, SETS_ASSUME, join_words, sets_not_tried

MOST_SETS = 12
"""The most lines of failure sets; the rest are counted."""

CAUTION = (
    "A study aid, computed from the catalogue. The aircraft's approved manuals and local rules"
    " come first; work on aircraft electrics is for licensed people."
)


def heading(network: Network, condition: str | None = None) -> str:
    """Aircraft, revision, airframe and condition in one line."""
    aircraft = network.catalogue.aircraft
    airframe = next(a.name for a in network.catalogue.airframes if a.id == network.airframe)
    parts = [f"{aircraft.name}, revision {aircraft.revision}", airframe]
    if condition:
        parts.append(network.condition_names[condition])
    return " | ".join(parts)


def fault_text(network: Network, component: str, mode: str) -> str:
    """`Left main bus shorted`."""
    return f"{network.names[component]} {mode.replace('-', ' ')}"


def single_failure_text(
    network: Network, fault: Fault, answer: Answer, not_known: bool = False
) -> str:
    """`Left main bus shorted (if contactors drop out)`."""
    by = SingleFailure(fault, (), answer, not_known)
    return f"{fault_text(network, *fault)} {by.remark}".rstrip()


NAMED_TITLE = "Named failures, at once"
"""Said of a list that no single condition has whole."""
EFFECTS = {
    "lost": "lost",
    "reduced": "reduced",
    "comes_on": "comes on",
    "one-left": "nothing to spare",
    "not_known": f"not known ({CONFLICT})",
}
"""What a named failure does to an item or a function, in words."""


def named_lines(network: Network, effects: Iterable[NamedEffect]) -> Iterator[str]:
    """`Both generators: lost (in Cruise, Approach)`, a line each."""
    names = {f.id: f.name for f in network.catalogue.failures}
    for e in effects:
        effect = f"{EFFECTS[e.effect]} {REMARKS[e.answer]}".rstrip()
        yield f"  {names[e.failure]}: {effect}{in_conditions(network, e.conditions)}"


def place_text(network: Network, connection: Connection) -> str:
    """`COM 1 10 A, Right side wall B7`: placard, rating, panel, position."""
    if connection.protector is None:
        through = ", ".join(network.names[d] for d in connection.through)
        return f"no breaker of its own{', through ' if through else ''}{through}"
    c = network.components[connection.protector]
    words = f"{c.name} {c.amps:g} A" if c.amps else c.name
    where = network.positions[c.id]
    return f"{words}, {where}" if where else words


def too_few_volts(quantities: Quantities, network: Network, loss: Loss, item: str) -> str:
    """`Left main bus shows 24 V, needs 25 V`; empty where no supply has too few volts."""
    least = network.equipment[item].min_volts or 0
    low = {c.bus: loss.nodes[c.bus].volts for c in network.connections[item] if is_fed(loss, c)}
    shown = [
        f"{network.names[bus]} shows {quantities.volts(volts)}"
        for bus, volts in low.items()
        if volts < least
    ]
    return f"{join_words(shown)}, needs {quantities.volts(least)}" if shown else ""


def named_in_effect(network: Network, item: str) -> tuple[str, ...]:
    """The other equipment that an item's text of what to do on its loss links to."""
    targets = LINKED.findall(network.equipment[item].on_loss)
    return tuple(t for t in dict.fromkeys(targets) if t in network.equipment and t != item)


def counted_on_in_vain(
    named: Iterable[str], no_longer: Collection[str], off: Collection[str]
) -> Iterator[tuple[str, list[str]]]:
    """What a text of what to do counts on, and has no power: a label, and the equipment.

    Parameters
    ----------
    named : the equipment that the text names.
    no_longer : what worked before the failure and does not now.
    off : what had no power in the condition anyway.
    """
    for label, unfit in (("Not working either", no_longer), ("Not on before", off)):
        gone = [i for i in named if i in unfit]
        if gone:
            yield label, gone


def hazard_lines(network: Network, ids: Iterable[str]) -> Iterator[str]:
    """What can hurt someone at any of these, a line each."""
    for name in ids:
        if name in network.hazards:
            yield f"  {network.names[name]}: {network.hazards[name]}."


def crew_acts(network: Network, then: Then) -> str:
    """All that the crew does about a failure, as a sentence; empty if it does nothing."""
    names = network.names
    acts = (
        ("sets", [f"{names[s]} to {position}" for s, position in then.switches.items()]),
        ("turns off", [names[i] for i in then.shed]),
        ("pulls", [names[i] for i in then.pulled]),
        ("resets", [names[i] for i in then.reset]),
    )
    done = [f"{verb} {join_words(what)}" for verb, what in acts if what]
    return f"The crew {'; '.join(done)}" if done else ""


def condition_text(network: Network, condition: Condition) -> str:
    """What a condition is: `On line: Generator 1. Switches: Battery: on; all others: off.`"""
    names, c = network.names, network.catalogue
    set_to: dict[str, list[str]] = {}
    first: dict[str, None] = {}
    for switch in c.switches:
        position = condition.switches.get(switch.id, switch.positions[0])
        if position == switch.positions[0]:
            first[position] = None
        else:
            name = switch.name.removesuffix(" switches").removesuffix(" switch")
            set_to.setdefault(position, []).append(name)
    positions = [f"{join_words(switches)}: {p}" for p, switches in set_to.items()]
    if first:
        positions.append(f"{'all others' if set_to else 'all'}: {join_words(list(first), 'or')}")
    sources = [s.name for s in c.sources if s.id in condition.sources]
    lists = (
        ("On line", join_words(sources) or "no source"),
        ("Switches", "; ".join(positions)),
        ("Pulled", join_words([names[p] for p in condition.pulled])),
        ("Held closed", join_words([names[d] for d in condition.held_closed])),
    )
    return " ".join(f"{label}: {text}." for label, text in lists if text)


def allowed_text(allowed_for: str) -> str:
    """For how long a source may give what is over its rating; empty where that is not known.

    `allowed_for` as `over_rating.allowed_for` has it.
    """
    if allowed_for == "no time":
        return "over its short-time ratings"
    return f"allowed for {allowed_for}" if allowed_for else ""


def section(title: str, lines: Sequence[str]) -> Iterator[str]:
    """A title with its lines after a blank line; nothing without lines."""
    if lines:
        yield f"\n{title}"
        yield from lines


def conditions_text(network: Network, conditions: Collection[str]) -> str:
    """`Cruise and Approach`, or `every condition`."""
    if 1 < len(conditions) == len(network.condition_names):
        return "every condition"
    return join_words([network.condition_names[c] for c in conditions])


def only_in(network: Network, conditions: Collection[str]) -> str:
    """`in Cruise and Approach`; empty where it is every condition."""
    every = len(conditions) == len(network.condition_names)
    return "" if every else f"in {conditions_text(network, conditions)}"


def in_conditions(network: Network, conditions: Collection[str]) -> str:
    """` (in Cruise and Approach)`; empty where it is every condition."""
    where = only_in(network, conditions)
    return f" ({where})" if where else ""


def set_lines(network: Network, condition: str, sets: Sequence[GroupedSet]) -> Iterator[str]:
    """The minimal cut sets of two and of three failures, grouped to fit few lines."""
    condition_name = network.condition_names.get(condition, "")
    order = largest_set(network)
    for size, word in ((2, "Two"), (3, "Three"))[: order - 1]:
        of_size = [s for s in sets if len(s) == size]
        if not of_size:
            if condition_name:
                yield f"\n{word} failures that take it only together, in {condition_name}: none"
            continue
        lines = as_products(of_size)
        number = sum(map(set_count, of_size))
        yield f"\n{word} failures that take it only together, in {condition_name}: {number}"
        for groups in lines[:MOST_SETS]:
            yield f"  {', with '.join(_group_text(network, group) for group in groups)}"
        left = sum(map(set_count, lines[MOST_SETS:]))
        if left:
            yield f"  and {left} more"
    if condition_name and order > 1:
        yield SETS_ASSUME
    if condition_name and order < LARGEST_SET:
        yield f"\n{sets_not_tried(order)}"


def _group_text(network: Network, group: Sequence[Fault]) -> str:
    """`(Left main bus dead or shorted or Left fuse link open)`."""
    modes: dict[str, list[str]] = {}
    for component, mode in group:
        modes.setdefault(component, []).append(mode.replace("-", " "))
    texts = [f"{network.names[c]} {' or '.join(of_component)}" for c, of_component in modes.items()]
    return texts[0] if len(group) == 1 else f"({' or '.join(texts)})"
