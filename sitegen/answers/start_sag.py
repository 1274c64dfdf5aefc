"""Start sag: what falls below its volts while a heavy item draws from a battery.

A source with `internal-ohms` shows its volts less its amps times these ohms, and conductors with a
length drop more on the way. From that follow the volts of every node that it carries, the closing
conditions by volts that no longer hold, and the equipment that has less than its `min-volts`. It is
reported only: no device moves for it here.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from sitegen.answers.loads.drawn import draws
from sitegen.answers.loads.state_amps import NO_AMPS, Amps
from sitegen.answers.voltage_drop import voltage_drops
from sitegen.answers.voltage_drop_records import (
    NEGLIGIBLE_VOLTS,
    NO_VOLTS,
    VoltageDrops,
    VoltsUnderLoad,
)
from sitegen.catalogue.model import Terms
from sitegen.quantities import Fraction, for_json, rounded
from sitegen.solver.load_figures import exact
from sitegen.solver.network import Network
from sitegen.solver.outcome import solve
from sitegen.solver.power import Power
from sitegen.solver.scenarios import Scenario, scenarios_of
from sitegen.solver.steady_state import SteadyState
from sitegen.solver.volts import Levels

LEAST_SAG = Fraction(1, 2)
"""Equipment is heavy where it alone makes a source sag by this many volts; ours, no source."""


@dataclass(frozen=True)
class SourceSag(VoltsUnderLoad):
    """What is left at the terminals of a source that gives amps over its own resistance.

    The volts are `at most` these where something draws from it that is not known, and where what it
    shares a load with, by ratings, would have less; and `at least` where that would have more, or a
    source that carries nothing by its volts offers more: it then gives some.
    """

    amps: Fraction = NO_AMPS


@dataclass(frozen=True)
class Sag:
    """What sagging sources do in one state."""

    item: str
    """The equipment that draws its short-time amps; empty where all is continuous."""
    item_amps: Fraction
    at_item: VoltsUnderLoad | None
    """What it has on the supply that has most, V."""
    sources: dict[str, SourceSag]
    opens: tuple[str, ...]
    closes: tuple[str, ...]
    """Switching devices that would, since a closing condition by volts changes."""
    may_open: tuple[str, ...]
    may_close: tuple[str, ...]
    """Those that may: the amps on the way to the bus that they sense are the most that may flow."""
    too_low: tuple[str, ...]
    """Equipment that has less than its `min-volts` on the supplies that it needs."""
    may_be_low: tuple[str, ...]
    """Equipment that may have less: the amps on the way are the most that may flow."""

    @property
    def effects(self) -> tuple[tuple[str, ...], ...]:
        """All that follows from it."""
        moves = self.opens, self.closes, self.may_open, self.may_close
        return *moves, self.too_low, self.may_be_low

    def as_json(self) -> dict[str, Any]:
        """One of the `sags` of `loads --json`."""
        return {
            "while_starting": self.item or None,
            "volts_at_item": for_json(self.at_item.volts) if self.at_item else None,
            "sources": {
                s: {
                    "amps": for_json(sag.amps),
                    "volts": for_json(sag.volts),
                    "at_most": sag.at_most,
                    "at_least": sag.at_least,
                }
                for s, sag in self.sources.items()
            },
            "opens": list(self.opens),
            "closes": list(self.closes),
            "may_open": list(self.may_open),
            "may_close": list(self.may_close),
            "below_min_volts": list(self.too_low),
            "may_be_below_min_volts": list(self.may_be_low),
        }


def sags(power: Power, amps: Amps, scenario: int = 0) -> list[Sag]:
    """With continuous amps, and while an item starts: of each source the start that takes most of
    its volts, the heaviest first.

    Parameters
    ----------
    power, scenario : some scenarios, and the number of one.
    amps : what flows in it.
    """
    steady = _sag(power, scenario, amps)
    if steady is None:
        return []
    most: dict[str, tuple[Fraction, str]] = {}
    for item in power.steady.network.equipment:
        for source, volts in _volts_of(amps, _more(amps, item)) if item in amps.powered else ():
            if volts > most.get(source, (NO_VOLTS, ""))[0]:
                most[source] = volts, item
    heaviest = {item: volts for volts, item in sorted(most.values())}
    found = [steady]
    for item, volts in sorted(heaviest.items(), key=lambda start: -start[1]):
        start = _sag(power, scenario, amps, item)
        if start and (volts >= LEAST_SAG or start.effects != steady.effects):
            found.append(start)
    return found


def start_sags(network: Network, before: Power) -> dict[str, list[tuple[str, Sag]]]:
    """By heavy item: (condition, sag of the sources that carry it, with its short-time amps).

    Where a condition has the item switched off, it is as if its contacts were closed.
    """
    ohms = max(
        (exact(s.internal_ohms) for s in network.sources.values() if s.internal_ohms),
        default=NO_VOLTS,
    )
    heavy = [
        item
        for item in network.equipment
        if any(
            (figures[item] or NO_AMPS) * ohms >= LEAST_SAG for figures in network.figures.values()
        )
    ]
    states = [(condition, item) for condition in network.columns for item in heavy]
    if not states:
        return {}
    scenarios = [Scenario(condition, _contacts(network, item)) for condition, item in states]
    on = solve(network, scenarios_of(scenarios), before).after
    drawn = draws(on)
    found: dict[str, list[tuple[str, Sag]]] = {}
    for k, (condition, item) in enumerate(states):
        amps = drawn.states[drawn.number[k]]
        if item in amps.powered and _sags_by(amps, item) >= LEAST_SAG:
            sag = _sag(on, k, amps, item)
            if sag is not None:
                carrying = _carrying(amps, item)
                sources = {s: left for s, left in sag.sources.items() if s in carrying}
                found.setdefault(item, []).append((condition, replace(sag, sources=sources)))
    return found


def _contacts(network: Network, item: str) -> tuple[tuple[str, str], ...]:
    """What switches the item on: the switching devices in its supplies, closed."""
    return tuple(
        (device, "stuck-closed")
        for device in dict.fromkeys(d for c in network.connections[item] for d in c.through)
        if device in network.switching
    )


def _sag(power: Power, k: int, amps: Amps, item: str = "") -> Sag | None:
    drops = voltage_drops(_while_starting(amps, item) if item else amps)
    if not drops.sags and not any(wire.volts for wire in drops.feeders.values()):
        return None
    network, steady = power.steady.network, power.steady
    low = {item: volts.most * 1000 for item, volts in drops.too_low(network).items()}
    own = [s.at_item for s in drops.supplies.values() if s.item == item]
    left = {
        s: max(exact(network.sources[s].volts) - sag, NO_VOLTS) for s, sag in drops.sags.items()
    }
    # Where another source helps, or the sources share by more than their ratings, the volts are
    # somewhere between.
    lowest = {s: min(own, drops.nodes[s].volts) for s, own in left.items()}
    highest = {s: max(own, drops.nodes[s].most) for s, own in left.items()}
    lowers = [_with_volts(steady, volts) for volts in (lowest, highest)]
    # Else no device follows the volts of a node, and they need not be worked out.
    switching = network.switching if network.by_volts else {}
    at_nodes = [
        (lower, shown)
        for lower in (lowers if switching else ())
        for shown in _volts_of_nodes(lower, k, drops, amps)
    ]
    opens: list[str] = []
    closes: list[str] = []
    may_open: list[str] = []
    may_close: list[str] = []
    for device, terms in switching.items():
        stuck = steady.setting.stuck[device] >> k & 1
        # What is closed only for the question stays so if its terms by volts would let it.
        asked = [_volts_of_terms(t) for t in terms] if stuck else terms
        held = steady.terms_hold(asked) >> k & 1
        hold = {lower.terms_hold(asked, shown) >> k & 1 for lower, shown in at_nodes}
        closed = bool(steady.conducts[device] >> k & 1)
        if closed and held and 0 in hold:
            (may_open if 1 in hold else opens).append(device)
        elif not closed and not held and 1 in hold and steady.setting.can_conduct[device] >> k & 1:
            (may_close if 0 in hold else closes).append(device)
    sag = Sag(
        item,
        drops.amps.drawn.get(item, NO_AMPS),
        max(own, key=lambda left: left.volts, default=None),
        {
            s: SourceSag(
                own,
                highest[s] > own + NEGLIGIBLE_VOLTS,
                s in amps.short_sources or lowest[s] < own - NEGLIGIBLE_VOLTS,
                highest[s],
                drops.amps.sources[s],
            )
            for s, own in left.items()
        },
        tuple(opens),
        tuple(closes),
        tuple(may_open),
        tuple(may_close),
        tuple(i for i, most in low.items() if most < network.min_millivolts[i]),
        tuple(i for i, most in low.items() if most >= network.min_millivolts[i]),
    )
    return sag if sag.sources or any(sag.effects) else None


def _with_volts(steady: SteadyState, volts: Mapping[str, Fraction]) -> SteadyState:
    """The same state with sources at these volts."""
    network = steady.network
    sources = {
        s: record.model_copy(update={"volts": float(volts[s])}) if s in volts else record
        for s, record in network.sources.items()
    }
    return replace(steady, network=replace(network, sources=sources))


def _volts_of_nodes(
    lower: SteadyState, k: int, drops: VoltageDrops, amps: Amps
) -> Iterator[Levels]:
    """What nodes show in scenario k at the most and at the least, as far as amps are bounds.

    A source that carries nothing holds a node at what it offers there.
    """

    def shows(levels: Sequence[tuple[int, int]]) -> int:
        return next((level for level, mask in levels if mask >> k & 1), 0)

    carriers = {node: state.carriers for node, state in amps.net.sharing.state.nodes.items()}
    idle = {s: lower.offered(s) for s, mask in lower.produces.items() if mask >> k & 1}
    for at_least in (False, True):
        shown = Levels()
        for node, left in drops.nodes.items():
            own = int(rounded((left.volts if at_least else left.most) * 1000))
            held = [shows(offered[node]) for s, offered in idle.items() if s not in carriers[node]]
            shown[node] = [(max((own, *held)), 1 << k)]
        yield shown


def _volts_of_terms(terms: Terms) -> Terms:
    """Of a closing condition, what goes by volts."""
    return Terms.model_validate(
        {"volts-above": terms.volts_above, "volts-below": terms.volts_below}
    )


def _while_starting(amps: Amps, item: str) -> Amps:
    """The same state while the item draws its short-time amps."""
    short = amps.net.sharing.network.figures[amps.net.sharing.column, True]
    figures = {**amps.figures, item: short[item]}
    # What these figures draw is not kept with the others'.
    net = replace(amps.net, everywhere={}, here={})
    without = replace(amps.with_supplies({item: None}), net=net, figures=figures)
    return without.with_supplies({item: amps.powered[item]})


def _more(amps: Amps, item: str) -> Sequence[tuple[str, Fraction]]:
    """(bus, amps) that the item draws for a short time beyond its continuous amps."""
    sharing = amps.net.sharing
    short = sharing.network.figures[sharing.column, True]
    now, then = (_drawn(amps, item, figures) for figures in (amps.figures, short))
    return [(bus, then[bus] - now.get(bus, NO_AMPS)) for bus in then]


def _drawn(amps: Amps, item: str, figures: dict[str, Fraction | None]) -> dict[str, Fraction]:
    found: dict[str, Fraction] = {}
    for bus, drawn in amps.net.draws(item, amps.powered[item], figures):
        found[bus] = found.get(bus, NO_AMPS) + (drawn or NO_AMPS)
    return found


def _sags_by(amps: Amps, item: str) -> Fraction:
    """By how much the item alone makes a source sag at its heaviest, V."""
    sharing = amps.net.sharing
    short = sharing.network.figures[sharing.column, True]
    drawn = list(_drawn(amps, item, short).items())
    return max((volts for _, volts in _volts_of(amps, drawn)), default=NO_VOLTS)


def _carrying(amps: Amps, item: str) -> set[str]:
    """The sources that carry what the item draws."""
    buses = [bus for bus, _ in _more(amps, item)]
    return {source for bus in buses for source in amps.net.sharing.source_amps(bus)}


def _volts_of(amps: Amps, drawn: Sequence[tuple[str, Fraction]]) -> Iterator[tuple[str, Fraction]]:
    """(source, by how much it sags, V) of those that carry these amps."""
    sources = amps.net.sharing.network.sources
    given: dict[str, Fraction] = {}
    for bus, more in drawn:
        for source, part in amps.net.sharing.source_amps(bus).items():
            given[source] = given.get(source, NO_AMPS) + part * more
    for source, carried in given.items():
        yield source, carried * exact(sources[source].internal_ohms or 0)
