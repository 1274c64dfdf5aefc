"""A net as Boolean functions of its failures: the referee of the cut sets, built on `dd`.

`dd` (https://github.com/tulip-control/dd) keeps Boolean functions as binary decision diagrams;
`dd.autoref` is its pure Python. Here every way in which a component fails is a variable, and 'this
node is live' and 'this item works' are functions of all of them, found by a fixpoint over the
catalogue's feeders. Contactors are modelled, not frozen: from the condition's settled state every
one of them moves at once, again and again, as functions, until no function changes. So are shorts
and stuck-closed contactors, with which a further failure may give back what another took.

Two modes of one component at once are asked about as well, but stand in no smallest set: dead and
shorted is as shorted alone, open and stuck closed as open alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import combinations
from typing import Any

from dd.autoref import BDD

from sitegen.catalogue.model import Group, Terms
from sitegen.solver.network import Network
from sitegen.solver.scenarios import Fault

Function = Any
"""A Boolean function of the failures, with `&`, `|`, `~`."""

CutSets = set[frozenset[Fault]]

SWITCHING_KINDS = ("contactor", "relay", "switch")
PROTECTIVE = ("breaker", "fuse", "fuse-link")
MOST_PASSES = 12
"""Passes of the fault loop after which some scenario is taken to repeat."""
MOST_MOVES = 64
"""Moves of all contactors after which some scenario is taken to chatter."""


class FaultFunctions:
    """One airframe in one condition."""

    def __init__(self, network: Network, condition: str, faults: Iterable[Fault]) -> None:
        self.network = network
        catalogue = network.catalogue
        self.condition = next(c for c in catalogue.conditions if c.id == condition)
        self.bdd = BDD()
        self.faults = {f"{component}:{mode}": (component, mode) for component, mode in faults}
        self.bdd.declare(*self.faults)
        self.kind = {d.id: d.kind for d in catalogue.devices}
        self.protective = {d.id for d in catalogue.devices if d.protective or d.kind in PROTECTIVE}
        self.moving = {
            d.id: d.closes_when or [] for d in catalogue.devices if d.kind in SWITCHING_KINDS
        }
        self.sources = {s.id: s for s in catalogue.sources}
        self.buses = [b.id for b in catalogue.buses]
        self.nodes = [*self.sources, *self.buses]
        self.inputs = [
            (feed.bus, source.id, feed.through)
            for source in catalogue.sources
            for feed in source.fed_from
        ]
        self.found: dict[tuple[int, int], tuple[Function, CutSets]] = {}
        self.closed: dict[str, Function] = {}
        self.conducts: dict[str, Function] = {}
        self.live: dict[str, Function] = {}
        self.produces: dict[str, Function] = {}
        self.opened = dict.fromkeys(self.protective, self.bdd.false)
        self.stalled = dict.fromkeys(self.sources, self.bdd.false)
        self.dead = {n: self.failed(n, "dead") for n in self.nodes}
        self.down = self.dead

    # What is given

    def failed(self, component: str, mode: str) -> Function:
        """The variable of a failure; false for one that does not exist, or is not asked about."""
        name = f"{component}:{mode}"
        return self.bdd.var(name) if name in self.faults else self.bdd.false

    def constant(self, value: bool) -> Function:
        return self.bdd.true if value else self.bdd.false

    def is_set(self, switch: str, position: str) -> bool:
        first = next(s.positions[0] for s in self.network.catalogue.switches if s.id == switch)
        return self.condition.switches.get(switch, first) == position

    def at_rest(self) -> dict[str, bool]:
        """Contactors open, but for those held closed; switches as they are set."""
        start = {d: d in self.condition.held_closed for d in self.moving}
        for device, terms in self.moving.items():
            if self.kind[device] == "switch" and all(
                t.model_fields_set <= {"switches"} for t in terms
            ):
                start[device] = any(
                    all(self.is_set(*set_to) for set_to in t.switches.items()) for t in terms
                )
        return start

    # Settling

    def settle(self, start: Mapping[str, bool]) -> bool:
        """Settle in every scenario at once; says whether all of them come to rest."""
        self.closed = {device: self.constant(value) for device, value in start.items()}
        for _ in range(MOST_PASSES):
            self._look()
            began = self.conducts, self.opened, self.stalled
            self._open_and_stall()
            if not self._move_contactors():
                return False
            if (self.conducts, self.opened, self.stalled) == began:
                return True
        return False

    def _move_contactors(self) -> bool:
        self._look()
        for _ in range(MOST_MOVES):
            before = self.conducts
            self.closed = {device: self._holds(terms) for device, terms in self.moving.items()}
            self._look()
            if self.conducts == before:
                return True
        return False

    def _look(self) -> None:
        """What conducts, what is live and what produces, as the contactors stand."""
        self.conducts = {}
        for component in self.network.components.values():
            if "open" in component.modes:
                able = ~self.failed(component.id, "open")
                if component.id in self.condition.pulled:
                    able = self.bdd.false
                stuck = self.failed(component.id, "stuck-closed")
                if component.id in self.condition.pulled:
                    stuck = self.bdd.false
                if component.id in self.moving:
                    able &= self.closed[component.id]
                if component.id in self.opened:
                    able &= ~self.opened[component.id]
                self.conducts[component.id] = able | stuck
        fit = {s: self._can_produce(s) & ~self.down[s] for s in self.sources}
        self.produces = {
            name: fit[name] & self.constant(name in self.condition.sources)
            if source.kind != "converter"
            else self.bdd.false
            for name, source in self.sources.items()
        }
        arcs = []
        for feeder in self.network.catalogue.feeders:
            passes = self._all_conduct(feeder.through)
            arcs.append((feeder.from_, feeder.to, passes))
            arcs.append((feeder.to, feeder.from_, passes & self._passes_back(feeder.through)))
        inputs = [
            (node, name, self._all_conduct(through) & fit[name])
            for node, name, through in self.inputs
        ]
        self.live = self._spread(
            self.produces, [*arcs, *inputs], {n: ~self.down[n] for n in self.nodes}
        )
        for node, converter, passes in inputs:
            self.produces[converter] |= self.live[node] & passes

    def _spread(
        self,
        seeds: Mapping[str, Function],
        arcs: Iterable[tuple[str, str, Function]],
        passes: Mapping[str, Function],
    ) -> dict[str, Function]:
        reached = {n: seeds.get(n, self.bdd.false) for n in self.nodes}
        grown = True
        while grown:
            grown = False
            for origin, target, along in arcs:
                more = reached[target] | (reached[origin] & along & passes[target])
                grown |= more != reached[target]
                reached[target] = more
        return reached

    def _can_produce(self, source: str) -> Function:
        failed = self.failed(source, "lost") | self.failed(source, "shorted")
        return ~failed & ~self.stalled[source]

    def _open_and_stall(self) -> None:
        """The shorted part, what opens next to it, and what stalls in it, with nothing moving."""
        arcs = []
        for feeder in self.network.catalogue.feeders:
            protected = [d for d in feeder.through if d in self.protective]
            passes = self._all_conduct(feeder.through)
            passes &= self.all_of(self.failed(d, "stuck-closed") for d in protected)
            arcs.append((feeder.to, feeder.from_, passes))
            arcs.append((feeder.from_, feeder.to, passes & self._passes_back(feeder.through)))
        shorted = {n: self.failed(n, "shorted") for n in self.nodes}
        part = self._spread(shorted, arcs, {n: ~self.dead[n] for n in self.nodes})
        self.down = {n: self.dead[n] | part[n] for n in self.nodes}
        self._look()
        opened, stalled = dict(self.opened), dict(self.stalled)
        for feeder in self.network.catalogue.feeders:
            passes = self._all_conduct(feeder.through)
            protected = [d for d in feeder.through if d in self.protective]
            back = passes & self._passes_back(feeder.through)
            for feeding, nearest_first in (
                (passes & part[feeder.to] & self.live[feeder.from_], protected[::-1]),
                (back & part[feeder.from_] & self.live[feeder.to], protected),
            ):
                left = feeding
                for device in nearest_first:
                    stuck = self.failed(device, "stuck-closed")
                    opened[device] |= left & ~stuck
                    left &= stuck
        for name, source in self.sources.items():
            able = self.constant(name in self.condition.sources)
            if source.kind == "converter":
                able = self.any_of(
                    self.live[node] & self._all_conduct(through)
                    for node, converter, through in self.inputs
                    if converter == name
                )
            stalled[name] |= part[name] & able & self._can_produce(name)
        self.opened, self.stalled = opened, stalled

    def _holds(self, any_of: Iterable[Terms]) -> Function:
        """Whether any of these structures of terms holds."""
        powered = {**self.live, **self.produces}
        holds = self.bdd.false
        for terms in any_of:
            one = self.constant(all(self.is_set(*set_to) for set_to in terms.switches.items()))
            for node in terms.live:
                one &= powered[node]
            for node in terms.dead:
                one &= ~powered[node]
            for device in terms.closed:
                one &= self.conducts[device]
            for device in terms.open:
                one &= ~self.conducts[device]
            holds |= one
        return holds

    def _passes_back(self, devices: Iterable[str]) -> Function:
        """Against its diodes a feeder passes only where they are shorted."""
        diodes = [d for d in devices if self.kind[d] == "diode"]
        return self.all_of(self.failed(d, "shorted") for d in diodes)

    def _all_conduct(self, devices: Iterable[str]) -> Function:
        return self.all_of(self.conducts[d] for d in devices)

    def all_of(self, functions: Iterable[Function]) -> Function:
        together = self.bdd.true
        for function in functions:
            together &= function
        return together

    def any_of(self, functions: Iterable[Function]) -> Function:
        together = self.bdd.false
        for function in functions:
            together |= function
        return together

    # What works

    def works(self) -> dict[str, Function]:
        """By equipment and function of the aircraft: it works."""
        found: dict[str, Function] = {}
        for item in self.network.resolve_order:
            record = self.network.equipment[item]
            fed = [
                self.live[bus] & self._all_conduct(devices)
                for bus, devices in supplies_of(self.network, item)
            ]
            enough = self.all_of if record.needs == "all" else self.any_of
            found[item] = enough(fed) & self.all_of(
                self.any_of(found[other] for other in ([r] if isinstance(r, str) else r.any))
                for r in record.requires
            )
        for function in self.network.catalogue.functions:
            found[function.id] = self.provided(function.provided_by, function.need, found)
        return found

    def provided(
        self, providers: Sequence[str | Group], need: int, works: Mapping[str, Function]
    ) -> Function:
        """Enough of the providers work; a group of them counts as one."""
        each = [
            works[p]
            if isinstance(p, str)
            else self.provided(p.any, p.need, works)
            if p.any is not None
            else self.provided(p.all or [], len(p.all or []), works)
            for p in providers
        ]
        return self.any_of(self.all_of(chosen) for chosen in combinations(each, need))

    def minimal(self, taken: Function, most: int) -> CutSets:
        """The sets of at most `most` failures that make a function true and of which no part does.

        By the variable that the diagram asks first: either the set is one of the branch in which
        that has not failed, or it is the failure and a set of the other branch, unless a part of
        the rest does it alone (Rauzy, New algorithms for fault trees analysis, Reliability
        Engineering and System Safety 40, 1993; from memory).
        """
        if most < 0 or taken == self.bdd.false:
            return set()
        if taken == self.bdd.true:
            return {frozenset()}
        asked = int(taken), most
        if asked not in self.found:
            good, bad = (~taken.low, ~taken.high) if taken.negated else (taken.low, taken.high)
            fault = self.faults[taken.var]
            sets = set(self.minimal(good, most))
            for rest in self.minimal(bad, most - 1):
                # `sets` grows, but no part of `rest` holds this fault.
                if not any(part in sets for part in parts(rest)):
                    sets.add(rest | {fault})
            # The function is kept beside its sets, so that its number stays its own.
            self.found[asked] = taken, sets
        return self.found[asked][1]


def parts(whole: frozenset[Fault]) -> Iterable[frozenset[Fault]]:
    """All subsets, the empty one and the whole among them."""
    return (frozenset(part) for n in range(len(whole) + 1) for part in combinations(whole, n))


def supplies_of(network: Network, item: str) -> list[tuple[str, list[str]]]:
    """An item's supplies as the catalogue has them: the bus, and all devices from it on.

    Only the id of a breaker that is written in place comes from the network.
    """
    return [
        (supply.bus, [*([c.protector] if c.protector else []), *supply.through])
        for supply, c in zip(
            network.equipment[item].supplies, network.connections[item], strict=True
        )
    ]


def loads_first(network: Network) -> list[Fault]:
    """Every failure; what is nearer the loads first, which keeps the diagrams small."""
    rank: dict[str, int] = {}
    for feeder in network.catalogue.feeders:
        for name in (feeder.from_, *feeder.through, feeder.to):
            rank.setdefault(name, len(rank))
    return sorted(network.combined_faults, key=lambda fault: -rank.get(fault[0], len(rank)))


def cut_sets_by_diagram(network: Network, condition: str, most: int) -> dict[str, CutSets] | None:
    """By equipment and function that works in the condition, its smallest sets of failures.

    None where a contactor chatters in any scenario at all, or in the condition itself.
    """
    before = FaultFunctions(network, condition, ())
    if not before.settle(before.at_rest()):
        return None
    after = FaultFunctions(network, condition, loads_first(network))
    if not after.settle({d: before.conducts[d] == before.bdd.true for d in before.moving}):
        return None
    worked = before.works()
    return {
        target: after.minimal(~works, most)
        for target, works in after.works().items()
        if worked[target] == before.bdd.true
    }
