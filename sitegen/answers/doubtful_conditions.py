"""What a condition, with nothing failed, has that its author can hardly mean.

A source that is on line and feeds no bus, unless it waits for something to fail; a device that
holds itself in, though what closed it was true only before power had spread.
"""

from __future__ import annotations

from collections.abc import Iterator

from sitegen.catalogue.findings import Finding, Place
from sitegen.catalogue.model import Condition, Terms
from sitegen.catalogue.read import ReadResult
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import condition_states
from sitegen.solver.scenarios import bits
from sitegen.words import MOST_LISTED, join_words, quoted


def doubtful_conditions(reading: ReadResult) -> Iterator[Finding]:
    """Advice for each such source and device, once, with the conditions it is true of.

    Parameters
    ----------
    reading : a catalogue without errors.
    """
    assert reading.catalogue is not None
    idle: dict[str, dict[str, str]] = {}
    locked: dict[str, list[str]] = {}
    for airframe in reading.catalogue.airframes:
        network = build(reading.catalogue, airframe.id)
        on = f" on {airframe.id}" if len(reading.catalogue.airframes) > 1 else ""
        for condition, source, opened in idle_sources(network):
            idle.setdefault(source, {})[f"{condition}{on}"] = opened
        for condition, device in locked_in(network):
            locked.setdefault(device, []).append(f"{condition}{on}")
    for record in reading.catalogue.sources:
        if where := idle.pop(record.id, None):
            first, opened = next(iter(where.items()))
            names = [c.id for c in reading.catalogue.conditions]
            index = names.index(first.partition(" on ")[0])
            yield _idle(reading.locations.at("conditions", index), record.id, list(where), opened)
    for known in reading.catalogue.devices:
        if places := locked.pop(known.id, None):
            yield Finding(
                "advice",
                reading.locations.of(known),
                f"{known.kind} {known.id}: in {join_words(places, most=MOST_LISTED)} it is closed"
                " with nothing failed only because it holds itself in: what closed it was true"
                " before power had spread.",
                "Add to what closes it a term that holds only after the fault, such as live: [a"
                " bus]; if it is meant, name it under `held-closed` of the condition.",
                "held-in-from-rest",
            )


def _idle(place: Place, source: str, where: list[str], opened: str) -> Finding:
    return Finding(
        "advice",
        place,
        f"source {source}: it is on line in {join_words(where, most=MOST_LISTED)} and feeds"
        f" nothing{f': {opened}' if opened else ''}.",
        f"Set what connects it, or take {quoted(source)} out of `sources`.",
        "source-on-line-feeds-nothing",
    )


def idle_sources(network: Network) -> Iterator[tuple[str, str, str]]:
    """(condition, source, which devices are open and why) where a source's feeders are all open.

    A standby source is left out: one that comes on by itself when something dies or opens.
    """
    steady = condition_states(network).steady
    for source in network.sources.values():
        branches = [
            (k, b)
            for k, b in enumerate(network.branches)
            if b.origin == source.id or (b.target == source.id and not b.into_converter)
        ]
        if not branches or source.kind == "converter":
            continue
        connected = 0
        for k, _ in branches:
            connected |= steady.branch_masks[k]
        for bit in bits(steady.produces[source.id] & ~connected):
            condition = network.catalogue.conditions[bit]
            if any(
                all(_closed_or_waits(network, d, bit, frozenset()) for d in branch.through)
                for _, branch in branches
            ):
                continue
            opened = [
                f"{device} is open, since {why_open(network, condition, device, bit)}"
                for _, branch in branches
                for device in branch.through
                if device in network.switching and not steady.conducts[device] >> bit & 1
            ]
            yield condition.id, source.id, join_words(opened, most=2)


def _closed_or_waits(network: Network, device: str, bit: int, above: frozenset[str]) -> bool:
    """Whether a device is closed, or closes without anyone's act once something dies or opens.

    `above` has the devices that wait for this one: a circle of them never closes.
    """
    steady = condition_states(network).steady
    if device not in network.switching or steady.conducts[device] >> bit & 1:
        return True
    above |= {device}
    for terms in network.switching[device]:
        at_once = terms.model_copy(update={"dead": [], "open": [], "closed": [], "volts_below": {}})
        if (
            steady.terms_hold([at_once]) >> bit & 1
            and not any(_held_by_itself(network, d) >> bit & 1 for d in terms.open)
            and all(
                d not in above and _closed_or_waits(network, d, bit, above) for d in terms.closed
            )
        ):
            return True
    return False


def why_open(network: Network, condition: Condition, device: str, bit: int) -> str:
    """What a device lacks to close in a condition, by the alternative that lacks least."""
    lacks = [list(_not_true(network, condition, terms, bit)) for terms in network.switching[device]]
    return join_words(min(lacks, key=len)) or "it chatters"


def _not_true(network: Network, condition: Condition, terms: Terms, bit: int) -> Iterator[str]:
    steady = condition_states(network).steady
    first = {s.id: s.positions[0] for s in network.catalogue.switches}
    for switch, position in terms.switches.items():
        actual = condition.switches.get(switch, first[switch])
        if actual != position:
            yield f"the switch {switch} is {actual}"
    states = {**steady.live, **steady.produces}
    for names, wanted, truth, other in (
        (terms.live, 1, states, "dead"),
        (terms.dead, 0, states, "live"),
        (terms.closed, 1, steady.conducts, "open"),
        (terms.open, 0, steady.conducts, "closed"),
    ):
        yield from (
            f"{n} is {other}" for n in names if n in truth and truth[n] >> bit & 1 != wanted
        )
    yield from (f"of the volts of {n}" for n in (*terms.volts_above, *terms.volts_below))


def locked_in(network: Network) -> Iterator[tuple[str, str]]:
    """(condition, device) where a device is closed by nothing but its own contact."""
    for device in network.switching:
        for bit in bits(_held_by_itself(network, device)):
            condition = network.catalogue.conditions[bit]
            if device not in condition.held_closed:
                yield condition.id, device


def _held_by_itself(network: Network, device: str) -> int:
    """The conditions in which a device is closed by nothing but its own contact."""
    alternatives = network.switching.get(device, ())
    others = [terms for terms in alternatives if device not in terms.closed]
    if len(others) == len(alternatives):
        return 0
    steady = condition_states(network).steady
    return steady.conducts[device] & ~steady.terms_hold(others)
