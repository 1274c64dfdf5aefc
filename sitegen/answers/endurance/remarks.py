"""What is said beside minutes on battery: what they assume, and what is lost before they end.

The minutes are those of answer 1, in which nothing opens by overload, with every battery at its
volts in the catalogue, as far as it plays a part which of them carries what. And the batteries'
volts go down: what needs more than the bottom of their `volts-range` does not last as long.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from itertools import combinations, permutations
from typing import Literal

from sitegen.answers.endurance.battery_load import Flat, Given, LoadShares, with_flat
from sitegen.answers.endurance.results import Endurance
from sitegen.answers.loads.range_end import ALL_LOW
from sitegen.answers.three_answers import must_open
from sitegen.solver.faults import run_stage
from sitegen.solver.network import Network
from sitegen.solver.outcome import Outcome
from sitegen.solver.power import SHARING_MILLIVOLTS, Power
from sitegen.solver.scenarios import union
from sitegen.solver.volts import diode_drops

ALL = ""
"""Every battery, in place of the id of one."""
End = Literal[0, 1]
"""Of a battery's range: its bottom, its top."""
Move = tuple[str, str]
"""(device, `opens` or `closes`)."""


@dataclass(frozen=True)
class Remarks:
    """Of the scenarios of a last stage: at once, or after the crew has acted."""

    outcome: Outcome
    earlier: Sequence[Outcome] = ()
    """The stages before it: what shares in them plays a part in the minutes too."""
    _when_flat: dict[tuple[str, ...], Remarks] = field(default_factory=dict)
    """By the batteries that are flat next."""
    _known_opening: dict[str | None, dict[int, tuple[str, ...]]] = field(default_factory=dict)
    """By load column."""
    _shares: dict[tuple[int, str], LoadShares] = field(default_factory=dict)
    """By the state, and the battery that is left where all others are flat."""

    def on(
        self, endurances: Iterable[Endurance], scenario: int, still_closed: Iterable[str]
    ) -> tuple[Endurance, ...]:
        """The endurances of one scenario, with remarks.

        Parameters
        ----------
        endurances : the batteries'.
        scenario : its number.
        still_closed : what must open by overload in any stage of it.
        """
        closed = tuple(sorted(still_closed))
        found = []
        for one in endurances:
            low, high = self._moves_of(one, scenario, 0), self._moves_of(one, scenario, 1)
            when_flat = self._opens_when_flat(one, scenario, closed)
            before_landing = {*closed, *(device for device, _ in when_flat)}
            found.append(
                replace(
                    one,
                    equally_charged=self._equally_charged(one.battery, scenario),
                    still_closed=closed,
                    moves_at_low_volts=low,
                    moves_at_high_volts=high,
                    moves_without_acts=any(of.moves(one, scenario) for of in self._before_acts),
                    opens_when_flat=when_flat,
                    opens_in_landing=self._opens_in_landing(one, scenario, before_landing),
                    lost_at_low_volts=self._lost_at_low_volts(one, scenario),
                )
            )
        return tuple(found)

    def _opens_when_flat(
        self, endurance: Endurance, scenario: int, known: Container[str]
    ) -> tuple[tuple[str, str], ...]:
        """(device, battery): what must open by overload once that is flat, and not before."""
        found: dict[str, str] = {}
        for flat in map(self._flat, endurance.at_any_volts):
            for number, together in enumerate(flat, 1):
                for device in self._when(flat[:number])._opening().get(scenario, ()):
                    if device not in known:
                        found.setdefault(device, together[-1])
        return tuple(sorted(found.items()))

    def _opens_in_landing(
        self, endurance: Endurance, scenario: int, known: Container[str]
    ) -> tuple[str, ...]:
        """What must open by overload with the landing's figures, with what is flat by then."""
        asked = endurance.asked
        if not asked.landing_column or not asked.landing_minutes:
            return ()
        opening = {
            device
            for one in endurance.at_any_volts
            if one.total is None or one.landing.minutes
            for flat in [self._flat(one)]
            for number in range(one.flat_before_landing, len(flat) + 1)
            for device in self._when(flat[:number])._opening(asked.landing_column).get(scenario, ())
        }
        return tuple(sorted(device for device in opening if device not in known))

    def _opening(self, column: str | None = None) -> dict[int, tuple[str, ...]]:
        """By scenario, what must open by overload.

        `column`: with its figures, in place of those of each condition.
        """
        if column not in self._known_opening:
            outcome = self.outcome
            if column:
                network = _in_column(outcome.network, column)
                steady = replace(outcome.after.steady, network=network)
                after = Power(steady, outcome.after.shed)
                outcome = replace(outcome, network=network, after=after)
            self._known_opening[column] = must_open(outcome)
        return self._known_opening[column]

    def _when(self, flat: Flat) -> Remarks:
        """The same when these batteries are flat, each time from the state before that."""
        if not flat:
            return self
        together, *later = flat
        if together not in self._when_flat:
            self._when_flat[together] = Remarks(with_flat(self.outcome, together))
        return self._when_flat[together]._when(tuple(later))

    @staticmethod
    def _flat(endurance: Endurance) -> Flat:
        """The batteries that are flat before it."""
        return tuple(batteries for _, batteries in endurance.flat_together)

    def _by_what_is_flat(self, endurance: Endurance) -> Iterator[tuple[Remarks, bool]]:
        """One after the other, as long as a battery lasts; and whether its load changes later. Only
        the first where nothing goes by volts: then the others say the same.
        """
        if not self.outcome.network.goes_by_volts:
            yield self, False
            return
        for one in endurance.at_any_volts:
            flat, changing = self._flat(one), {other.battery for other in one.flat_before}
            for number in range(len(flat) + 1):
                later = [battery for together in flat[number:] for battery in together]
                yield self._when(flat[:number]), not changing.isdisjoint(later)

    def _equally_charged(self, battery: str, scenario: int) -> tuple[str, ...]:
        """The batteries that may share its load, or carry it, at some volts within the ranges."""
        return tuple(
            other
            for pair, mask in self._may_share.items()
            if battery in pair and mask >> scenario & 1
            for other in pair
            if other != battery
        )

    @cached_property
    def _may_share(self) -> dict[tuple[str, str], int]:
        """By pair of batteries, in any stage: one carries load, and the other might."""
        stages = [_may_share(stage) for stage in (self.outcome, *self.earlier)]
        return {pair: union(stage[pair] for stage in stages) for pair in stages[0]}

    @cached_property
    def _at_ends(self) -> tuple[dict[str, Power], dict[str, Power]]:
        """By battery that is not flat the same after it has gone to the bottom of its range, and to
        the top; under `ALL`, all.
        """
        return self._at_end(0), self._at_end(1)

    def _at_end(self, end: End) -> dict[str, Power]:
        power = self.outcome.after
        setting, positions = power.steady.setting, power.steady.positions
        moved = _with_batteries_at(self.outcome.network, end)
        left = [battery for battery in moved if setting.on_line.get(battery)]
        return {
            battery: Power(run_stage(moved[battery], setting, positions), power.shed)
            for battery in ([*left, ALL] if len(left) > 1 else left)
        }

    @cached_property
    def _no_longer_works(self) -> dict[str, dict[str, int]]:
        """By battery that is low, or `ALL`: by equipment that works, where it does not then."""
        works = self.outcome.after.works
        return {
            low: {i: works[i] & ~power.works[i] for i in sorted(works)}
            for low, power in self._at_ends[0].items()
        }

    def _lost_at_low_volts(self, endurance: Endurance, scenario: int) -> tuple[str, ...]:
        """What is lost as a battery's volts go down, whatever is flat by then."""
        lost = (
            stage._lost_with(endurance.battery, scenario)
            for stage, _ in self._by_what_is_flat(endurance)
        )
        return tuple(sorted(set().union(*lost)))

    def _lost_with(self, battery: str, scenario: int) -> set[str]:
        """What is lost as this battery's volts go down; of what only all of them together take,
        what it carries.
        """
        gone = {
            low: [i for i, mask in lost.items() if mask >> scenario & 1]
            for low, lost in self._no_longer_works.items()
        }
        by_one = {i for low, items in gone.items() if low != ALL for i in items}
        by_all = [i for i in gone.get(ALL, ()) if i not in by_one]
        theirs = {i for i in by_all if battery in self._carriers(scenario, i, by_all)}
        return {*gone.get(battery, ()), *theirs}

    @cached_property
    def _before_acts(self) -> list[Remarks]:
        return [Remarks(stage) for stage in self.earlier]

    def moves(self, endurance: Endurance, scenario: int) -> bool:
        """Whether anything moves within the batteries' ranges and changes this one's minutes."""
        low, high = self._moves_of(endurance, scenario, 0), self._moves_of(endurance, scenario, 1)
        return bool(low or high)

    def _moves_of(self, endurance: Endurance, scenario: int, end: End) -> tuple[Move, ...]:
        """What moves as the volts go down (0), or where they are higher (1), whatever is flat by
        then, and makes the minutes of this battery others.
        """
        found = {
            move
            for stage, load_changes in self._by_what_is_flat(endurance)
            for move in stage._moving(endurance.battery, scenario, end, load_changes)
        }
        order = {device: i for i, device in enumerate(self.outcome.network.switching)}
        return tuple(sorted(found, key=lambda move: (order[move[0]], move[1] == "closes")))

    def _moving(self, battery: str, scenario: int, end: End, load_changes: bool) -> set[Move]:
        """The same with no more batteries flat. What one battery by itself moves is not said again
        of all together.
        """
        moving = {
            low: {move for move, mask in moves.items() if mask >> scenario & 1}
            for low, moves in self._moves[end].items()
        }
        by_one = {m for low, moves in moving.items() if low != ALL for m in moves}
        found: set[Move] = set()
        for low, moves in moving.items():
            if moves and (load_changes or self._changes(battery, scenario, end, low)):
                new = moves - by_one if low == ALL else moves
                found |= new or (set() if found else moves)
        return found

    @cached_property
    def _moves(self) -> tuple[dict[str, dict[Move, int]], ...]:
        """At the bottom and at the top, by battery or `ALL`: what moves, in which scenarios."""
        now = self.outcome.after.steady.conducts
        return tuple(
            {
                low: {
                    (device, verb): mask
                    for device in self.outcome.network.switching
                    for there in [power.steady.conducts[device]]
                    for verb, mask in (
                        ("opens", now[device] & ~there),
                        ("closes", there & ~now[device]),
                    )
                    if mask
                }
                for low, power in at_end.items()
            }
            for at_end in self._at_ends
        )

    def _changes(self, battery: str, scenario: int, end: End, low: str) -> bool:
        """Whether a battery may last another time with what moves then.

        It does not where it feeds the same before and after, and no other battery plays a part in
        its minutes: none hands it a load when it is flat, before or after.
        """
        now, moved = self.outcome.after, self._at_ends[end][low]
        fed = self._fed_by(battery, scenario, end, now, alone=False)
        return any(
            fed != self._fed_by(battery, scenario, end, power, alone)
            for power, alone in ((moved, False), (now, True), (moved, True))
        )

    def _fed_by(
        self, battery: str, scenario: int, end: End, power: Power, alone: bool
    ) -> dict[str, Given]:
        """By equipment, what a battery gives of it; with `alone`, all the others flat."""
        key = id(power), battery if alone else ""
        if key not in self._shares:
            network = power.steady.network
            outcome = replace(self.outcome, network=network, after=power)
            if alone:
                sources = network.sources.values()
                others = [s.id for s in sources if s.kind == "battery" and s.id != battery]
                outcome = with_flat(outcome, others)
            self._shares[key] = LoadShares(outcome)
        place = frozenset(self.outcome.network.millivolt_ranges) if end else ALL_LOW
        return self._shares[key].of(scenario, place, ()).get(battery, {})

    def _carriers(self, scenario: int, item: str, lost: Container[str]) -> set[str]:
        """The sources that carry an item, or what is lost of what it requires."""
        network, power = self.outcome.network, self.outcome.after
        found = {
            source
            for connection, fed in zip(network.connections[item], power.fed[item], strict=True)
            if fed >> scenario & 1
            for source, mask in power.carriers[connection.bus].items()
            if mask >> scenario & 1
        }
        for requirement in network.equipment[item].requires:
            for other in [requirement] if isinstance(requirement, str) else requirement.any:
                if other in lost:
                    found |= self._carriers(scenario, other, lost)
        return found


def _may_share(outcome: Outcome) -> dict[tuple[str, str], int]:
    """By pair of batteries: one carries load, and the other might.

    At one node, or at two that feed one item or converter, which draws from the higher.
    """
    network, power = outcome.network, outcome.after
    batteries = [s for s, record in network.sources.items() if record.kind == "battery"]
    changes = network.millivolt_changes
    at_one_node = {(node, node, 0): -1 for node in network.loaded_nodes}
    found = {}
    for one, other in combinations(batteries, 2):
        (low, high), (other_low, other_high) = (changes.get(s, (0, 0)) for s in (one, other))
        found[one, other] = union(
            fed
            & here
            & there
            & (power.carriers[node].get(one, 0) | power.carriers[other_node].get(other, 0))
            for nodes, within in (
                (at_one_node, SHARING_MILLIVOLTS),
                (_fed_from_two(outcome), 0),
            )
            for (node, other_node, more), fed in nodes.items()
            for level, here in power.offered[one][node]
            for other_level, there in power.offered[other][other_node]
            if level + high >= other_level + more + other_low - within
            and other_level + more + other_high >= level + low - within
        )
    return found


def _fed_from_two(outcome: Outcome) -> dict[tuple[str, str, int], int]:
    """By two nodes, and how much more the diodes of the first one's feed drop, mV: where they feed
    one item that works from either, or one converter.
    """
    network, power, steady = outcome.network, outcome.after, outcome.after.steady
    inputs: dict[str, list[tuple[str, int, int]]] = {}
    for branch, mask in zip(network.branches, steady.branch_masks, strict=True):
        if branch.into_converter:
            live = mask & steady.live[branch.origin] & steady.produces[branch.target]
            inputs.setdefault(branch.target, []).extend(
                (branch.origin, drop, where)
                for drop, where in diode_drops(network, branch, live, steady.setting).items()
            )
    for item, record in network.equipment.items():
        if record.needs == "any":
            on = ~power.shed.get(item, 0)
            inputs[item] = [
                (connection.bus, 0, mask & on)
                for connection, mask in zip(network.connections[item], power.fed[item], strict=True)
            ]
    found: dict[tuple[str, str, int], int] = {}
    for fed in inputs.values():
        for (node, drop, here), (other, other_drop, there) in permutations(fed, 2):
            if here & there:
                key = node, other, drop - other_drop
                found[key] = found.get(key, 0) | here & there
    return found


@lru_cache(maxsize=4)
def _in_column(network: Network, column: str) -> Network:
    """The same wiring, with the figures of one load column in every condition."""
    conditions = [c.model_copy(update={"loads": column}) for c in network.catalogue.conditions]
    catalogue = network.catalogue.model_copy(update={"conditions": conditions})
    return replace(network, catalogue=catalogue)


@lru_cache(maxsize=8)
def _with_batteries_at(network: Network, end: int) -> dict[str, Network]:
    """By battery the airframe with it at the bottom (0) or top (1) of its range, and under `ALL`
    with all that have one; none where nothing goes by volts.
    """
    volts = {
        source: record.volts_range[end]
        for source, record in network.sources.items()
        if record.kind == "battery" and record.volts_range
    }
    if not volts or not network.goes_by_volts:
        return {}
    every = {**{source: {source: there} for source, there in volts.items()}, ALL: volts}
    return {name: network.at_volts(there) for name, there in every.items()}
