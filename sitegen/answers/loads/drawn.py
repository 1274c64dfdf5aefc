"""Amps in any number of scenarios: each distinct state of the net is worked out once.

Scenarios in which the same branches conduct, the same nodes pass power and the same sources produce
have one state of the net, and so one answer to who carries what (`sharing.py`) and by which path
(`simple_paths.py`). Those whose equipment has the same live supplies too have the same amps.

Batches of one airframe share what they work out: the pages of its failures ask of the same few
hundred states over and over.

Equipment draws where it has the supply that it needs, even if what it requires is gone.
"""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property, lru_cache

from sitegen.answers.loads.meter_bands import KnownVariations, Variations, variations
from sitegen.answers.loads.net_state import Drawn, Live, NetState
from sitegen.answers.loads.sharing import Known, Sharing, State
from sitegen.answers.loads.simple_paths import KnownPassages, Topology
from sitegen.answers.loads.state_amps import Amps
from sitegen.answers.node_states import column_masks, node_states
from sitegen.quantities import Fraction
from sitegen.solver.graph import backwards
from sitegen.solver.network import Network
from sitegen.solver.power import Power
from sitegen.solver.scenarios import bits, by_scenario, distinct, values_by_scenario
from sitegen.solver.subset import narrowed

MOST_SHARED = 4096
"""The scenarios of a batch that shares its states; of more, few states would be asked for again."""

MOST_KEPT = 1_000_000
"""Pieces of equipment in all states that are kept of one airframe: about 100 MB."""


@dataclass(frozen=True)
class _KnownStates:
    """The states of one network that batches have worked out, and what is known of each."""

    nets: dict[object, NetState] = field(default_factory=dict)
    """By what determines a state of the net (`_net_masks`)."""
    topologies: dict[object, Topology] = field(default_factory=dict)
    passages: KnownPassages = field(default_factory=dict)
    everywhere: dict[tuple[int, str, Live], Drawn] = field(default_factory=dict)
    sharing: Known = field(default_factory=Known)
    amps: dict[object, Amps] = field(default_factory=dict)
    """By the state of the net, whether short-time, and the live supplies of all equipment."""
    varying: KnownVariations = field(default_factory=KnownVariations)


@lru_cache(maxsize=2)
def _kept_states(network: Network) -> list[_KnownStates]:
    """Of two airframes that are compared, each its own; the list has one."""
    return [_KnownStates()]


def _known_states(network: Network, count: int) -> _KnownStates:
    """What is known for a batch with this many scenarios; forgotten when it is too much."""
    if count > MOST_SHARED:
        return _KnownStates()
    kept = _kept_states(network)
    if len(kept[0].amps) * len(network.equipment) > MOST_KEPT:
        kept[0] = _KnownStates()
    return kept[0]


@dataclass(frozen=True)
class Draws:
    """What flows in every scenario of a batch."""

    power: Power
    states: list[Amps]
    number: list[int]
    """By scenario, which of the states."""
    known: KnownVariations = field(default_factory=KnownVariations)
    """What other batches have asked of these states."""

    @cached_property
    def masks(self) -> list[int]:
        """By state, the scenarios in which it holds."""
        members: list[list[int]] = [[] for _ in self.states]
        for k, number in enumerate(self.number):
            members[number].append(k)
        return [_mask(ks) for ks in members]

    @cached_property
    def variations(self) -> list[Variations]:
        """By state, what varies in it while nothing more fails."""
        return variations(self.states, self.known)


def draws(power: Power, peak: bool = False) -> Draws:
    """The continuous or short-time amps of all scenarios, each by its condition's load column."""
    return _batch(power).drawn(peak)


def draws_and_peaks(power: Power) -> tuple[Draws, Draws]:
    """The same, and with short-time figures where equipment has them."""
    batch = _batch(power)
    return batch.drawn(peak=False), batch.drawn(peak=True)


class _Batch:
    """The scenarios of one batch by their states, as far as no figures play a part."""

    def __init__(self, power: Power) -> None:
        self.power = power
        self._drawn: dict[bool, Draws] = {}
        network, count = power.steady.network, power.steady.setting.all.bit_length()
        supplies = [
            (item, i) for item in network.equipment for i in range(len(network.connections[item]))
        ]
        fed = [power.fed[item][i] & ~power.shed.get(item, 0) for item, i in supplies]
        # What most scenarios have: the numbers of `distinct` say only what differs.
        usual = {
            supply: 2 * bin(mask).count("1") > count
            for supply, mask in zip(supplies, fed, strict=True)
        }

        def live(item: str, differing: Container[tuple[str, int]]) -> Live | None:
            every = range(len(network.connections[item]))
            numbers = tuple(i for i in every if usual[item, i] != ((item, i) in differing))
            lacking = len(numbers) < len(every) and network.equipment[item].needs == "all"
            return None if lacking or not numbers else numbers

        self.usually = {item: live(item, ()) for item, i in supplies if not i}
        self.of_net, self.of_supplies = distinct(_net_masks(power), count), distinct(fed, count)
        self.changes = {
            key: {item: live(item, differing) for item in {item for item, _ in differing}}
            for key in set(self.of_supplies)
            for differing in [{supplies[i] for i in bits(key)}]
        }
        first_of_net: dict[int, int] = {}
        for k, key in enumerate(self.of_net):
            first_of_net.setdefault(key, k)
        self.known = _known_states(network, count)
        contents = _net_contents(power, list(first_of_net.values()))
        firsts = dict(zip(contents, first_of_net.values(), strict=True))
        new = {content: k for content, k in firsts.items() if content not in self.known.nets}
        if new:
            states = _net_states(power, list(new.values()), self.known)
            self.known.nets.update(zip(new, states, strict=True))
        nets = (self.known.nets[content] for content in contents)
        self.nets = dict(zip(first_of_net, nets, strict=True))

    def drawn(self, peak: bool) -> Draws:
        """The amps of every scenario, continuous or short-time."""
        if peak in self._drawn:
            return self._drawn[peak]
        states: list[Amps] = []
        known: dict[tuple[int, int], int] = {}
        start: dict[str | None, Amps] = {}
        base: dict[int, Amps] = {}
        number = []
        usual, place = [*self.usually.values()], {item: i for i, item in enumerate(self.usually)}
        for state in zip(self.of_net, self.of_supplies, strict=True):
            if state not in known:
                key, supplied = state
                known[state] = len(states)
                changed = self.changes[supplied]
                live = usual.copy()
                for item, now in changed.items():
                    live[place[item]] = now
                content = id(self.nets[key]), peak, tuple(live)
                if content not in self.known.amps:
                    if key not in base:
                        base[key] = _with_usual_supplies(self.nets[key], self.usually, peak, start)
                    found = base[key].with_supplies(changed) if changed else base[key]
                    self.known.amps[content] = found
                states.append(self.known.amps[content])
            number.append(known[state])
        self._drawn[peak] = Draws(self.power, states, number, self.known.varying)
        return self._drawn[peak]


@lru_cache(maxsize=3)
def _batch(power: Power) -> _Batch:
    """Meters, loads and overload ask about the same batch one after the other."""
    return _Batch(power)


def _with_usual_supplies(
    net: NetState, usually: Mapping[str, Live | None], peak: bool, start: dict[str | None, Amps]
) -> Amps:
    """What flows in a state of the net with the usual supplies live.

    Most equipment draws the same in every state of the net: what it draws in the first is in
    `start`, by load column.
    """
    network, column = net.sharing.network, net.sharing.column
    if column not in start:
        nothing = Amps(net, network.figures[column, peak], {}, {}, {})
        start[column] = nothing.with_supplies(usually)
    return start[column].at_volts(net)


def _net_masks(power: Power) -> Iterator[int]:
    """Masks from which the state of the net follows: where all are the same, so is the state."""
    yield from column_masks(power).values()
    yield from _wiring_masks(power)


def _net_contents(power: Power, firsts: list[int]) -> list[object]:
    """What determines the state of the net in each of these scenarios, in any batch."""
    columns, masks = column_masks(power), list(_wiring_masks(power))
    return [
        (
            next(column for column, mask in columns.items() if mask >> k & 1),
            *(mask >> k & 1 for mask in masks),
        )
        for k in firsts
    ]


def _wiring_masks(power: Power) -> Iterator[int]:
    """The same, but for the load column: of one network as many, in the same order."""
    steady = power.steady
    setting, network = steady.setting, steady.network
    yield from steady.branch_masks
    yield from steady.passes.values()
    yield from steady.produces.values()
    for branch in network.branches:
        for diode in branch.diodes:
            yield setting.bypassed[diode]


def _net_states(power: Power, firsts: list[int], known: _KnownStates) -> Iterator[NetState]:
    """The state of the net in each of these scenarios."""
    few, count = narrowed(power, firsts), len(firsts)
    steady = few.steady
    network, setting = steady.network, steady.setting
    conducts = values_by_scenario(steady.conducts, count)
    both_ways = (
        backwards(branch, mask, setting.bypassed)
        for branch, mask in zip(network.branches, steady.branch_masks, strict=True)
    )
    columns = by_scenario(setting.in_condition.values(), count)
    conditions = list(setting.in_condition)
    passing = by_scenario(steady.passes.values(), count)
    rows = zip(
        node_states(few, count),
        conducts,
        columns,
        by_scenario(steady.branch_masks, count),
        by_scenario(both_ways, count),
        passing,
        strict=True,
    )
    for k, (nodes, closed, here, along, back, passes) in enumerate(rows):
        column = network.columns[conditions[here.index(True)]]
        shorted = frozenset(d for d, mask in setting.bypassed.items() if mask >> k & 1)
        drops = [
            sum(network.millivolts[d] for d in branch.diodes if d not in shorted)
            for branch in network.branches
        ]
        key = along, back, passes, tuple(drops)
        if key not in known.topologies:
            known.topologies[key] = _topology(network, known.passages, *key)
        yield NetState(
            Sharing(network, State(nodes, closed, shorted), column, known=known.sharing),
            known.topologies[key],
            known.everywhere,
            {number: Fraction(drop, 1000) for number, drop in enumerate(drops) if drop},
            few,
            k,
        )


def _topology(
    network: Network,
    known: KnownPassages,
    along: tuple[bool, ...],
    back: tuple[bool, ...],
    passes: tuple[bool, ...],
    drops: tuple[int, ...],
) -> Topology:
    passing = dict(zip(network.nodes, passes, strict=True))
    conducting = (
        (number, branch.origin, branch.target, back[number], drops[number])
        for number, branch in enumerate(network.branches)
        if along[number]
        and not branch.into_converter
        and passing[branch.origin]
        and passing[branch.target]
    )
    return Topology(conducting, known)


def _mask(numbers: list[int]) -> int:
    held = bytearray(numbers[-1] // 8 + 1)
    for k in numbers:
        held[k >> 3] |= 1 << (k & 7)
    return int.from_bytes(held, "little")
