"""The smallest failure sets against other people's fault trees.

Sources of the check: `cutsets` (https://github.com/iamumairs/fault-tree-mcs), which expands a fault
tree of and- and or-gates into rows of basic events by MOCUS (Fussell and Vesely, A New Methodology
for Obtaining Cut Sets for Fault Trees, 1972; from memory), and `dd`
(https://github.com/tulip-control/dd), binary decision diagrams.

The tree for `cutsets` is grown from the catalogue's feeders: a bus is unpowered when it is dead or
every way into it is, and a way is when a device in it is open or the bus at its other end is
unpowered; a way back to a bus that is already asked about is no way in. It has sources lost, buses
dead and devices open, with the contactors held as the condition has them (`frozen.py`). Only the
library's rows are taken: the step by which it then keeps the smallest drops a set that stands in
three rows.

The diagrams of `dd` have every failure in every mode, shorts and stuck-closed contactors too, and
contactors that move (`fault_functions.py`). They know no volts: the demo is compared with its
limits of volts taken as live or dead, and without `min-volts` (`without_volts` in `frozen.py`).
"""

from __future__ import annotations

import copy
from collections.abc import Iterable
from itertools import combinations
from math import prod
from pathlib import Path

import cutsets
import pytest
from hypothesis import assume, given

import sitegen
from sitegen.catalogue.model import Catalogue
from sitegen.catalogue.read import read
from sitegen.solver.network import Network, build
from sitegen.solver.scenarios import Fault
from tests.listed_cut_sets import cut_sets
from tests.nets import network
from tests.outside.fault_functions import CutSets, cut_sets_by_diagram, supplies_of
from tests.outside.frozen import WITHOUT_SHORTS, Frozen, frozen, without_volts
from tests.random_nets import Raw, catalogues
from tests.samples import sample_size, thorough

DEMO = Path(sitegen.__file__).parents[1] / "data" / "tarn-19"
MOST = 3
MOST_ROWS = 800
"""What MOCUS expands in good time."""

Event = str | None
"""A gate or a basic event of a fault tree; None for what is so already."""

SMALL_NETS = {
    "two sides that meet behind diodes": """
sources: {left: 28, right: 28}
buses: [left-bus, right-bus, dual-fed]
devices:
  link: fuse-link
  cb-left: breaker
  cb-right: breaker
  d-left: diode
  d-right: diode
feeders:
  - left > left-bus
  - right > right-bus
  - left-bus > link > right-bus
  - left-bus > cb-left > d-left > dual-fed
  - right-bus > cb-right > d-right > dual-fed
equipment:
  radio: {supplies: [{bus: dual-fed, breaker: {name: R, amps: 5}}]}
  lamp: {supplies: [{bus: left-bus, breaker: {name: L, amps: 5}}, {bus: right-bus}]}
functions: {light: {provided-by: [radio, lamp]}}
""",
    "a converter, and what needs its power": """
sources:
  gen: 28
  inverter: {kind: converter, volts: 115, fed-from: [{bus: main, through: [cb]}, {bus: standby}]}
buses: [main, standby, ac]
devices: {cb: breaker, link: fuse-link, k-ac: {kind: relay, closes-when: {live: [inverter]}}}
feeders: [gen > main, main > link > standby, inverter > k-ac > ac]
equipment:
  gyro-left: ac
  gyro-right: {supplies: [{bus: standby, fuse: {name: G, amps: 2}}]}
  display: {needs: all, supplies: [{bus: main}, {bus: ac}]}
  pilot: {supplies: [{bus: main}], requires: [{any: [gyro-left, gyro-right]}]}
  servo: {supplies: [{bus: standby}], requires: [pilot]}
functions: {attitude: {provided-by: [gyro-left, gyro-right, display], need: 2}}
""",
    "three buses in a ring": """
sources: {one: 28, two: 28}
buses: [first, second, third]
devices: {link-a: fuse-link, link-b: fuse-link, link-c: fuse-link, cb-shared: breaker}
feeders:
  - one > first
  - two > second
  - first > link-a > second
  - second > link-b > third
  - third > link-c > first
equipment:
  pump: {supplies: [{bus: third, breaker: cb-shared}]}
  valve: {supplies: [{bus: third, breaker: cb-shared}, {bus: first}]}
functions: {fuel: {provided-by: [pump, valve], need: 2}}
""",
    "three fed alike, of which one's breaker is pulled and one's switch is off": """
sources: {gen: 28}
buses: [main]
switches: {light: ["off", "on"]}
devices: {s-light: {kind: switch, closes-when: {switches: {light: "on"}}}}
feeders: [gen > main]
equipment:
  pump: {supplies: [{bus: main, breaker: {name: P, amps: 5}}]}
  fan: {supplies: [{bus: main, breaker: {name: F, amps: 5, id: cb-fan}}]}
  lamp: {supplies: [{bus: main, through: [s-light]}]}
functions: {air: {provided-by: [pump, fan]}}
conditions: {flight: {sources: [gen], pulled: [cb-fan]}}
""",
}

TIE_THAT_CLOSES = """
sources: {left: 28, right: 28}
buses: [left-bus, right-bus, essential]
devices:
  cb-left: breaker
  cb-right: breaker
  d-left: diode
  d-right: diode
  k-tie: {kind: contactor, protective: false, closes-when: [{dead: [left]}, {dead: [right]}]}
feeders:
  - left > cb-left > left-bus
  - right > cb-right > right-bus
  - left-bus > k-tie > right-bus
  - left-bus > d-left > essential
  - right-bus > d-right > essential
equipment:
  lamp: {supplies: [{bus: left-bus, breaker: {name: L, amps: 5}}]}
  radio: {supplies: [{bus: essential, breaker: {name: R, amps: 5}}]}
"""


class Tree:
    """The fault tree of one target: its gates, as `cutsets` reads them."""

    def __init__(self, net: Frozen) -> None:
        self.net = net
        catalogue = net.network.catalogue
        kinds = {d.id: d.kind for d in catalogue.devices}
        self.gates: dict[str, tuple[str, list[str]]] = {}
        self.faults: dict[str, Fault] = {}
        self.sources = {s.id: s for s in catalogue.sources}
        self.infeeds_of_buses: dict[str, list[tuple[str, tuple[str, ...]]]] = {
            n: [] for n in net.network.nodes
        }
        for feeder in catalogue.feeders:
            self.infeeds_of_buses[feeder.to].append((feeder.from_, tuple(feeder.through)))
            if not any(kinds[d] == "diode" for d in feeder.through):
                self.infeeds_of_buses[feeder.from_].append((feeder.to, tuple(feeder.through)))

    def event(self, component: str, mode: str) -> Event:
        if component in self.net.gaps:
            return None
        self.faults[f"{component}:{mode}"] = component, mode
        return f"{component}:{mode}"

    def either(self, events: Iterable[Event]) -> Event:
        """So when any of them is; there is at least one."""
        inputs = list(events)
        return None if None in inputs else self.gate("Or", [e for e in inputs if e is not None])

    def both(self, events: Iterable[Event]) -> Event:
        """So when all of them are."""
        inputs = [e for e in events if e is not None]
        return self.gate("And", inputs) if inputs else None

    def gate(self, kind: str, inputs: list[str]) -> str:
        if len(inputs) == 1:
            return inputs[0]
        name = f"gate-{len(self.gates)}"
        self.gates[name] = kind, inputs
        return name

    def unpowered(self, node: str, asked: frozenset[str] = frozenset()) -> Event:
        if node in asked:
            return None
        asked |= {node}

        def way(other: str, devices: Iterable[str], *besides: Event) -> Event:
            opened = [self.event(d, "open") for d in devices]
            return self.either([*besides, *opened, self.unpowered(other, asked)])

        ways = [way(*way_in) for way_in in self.infeeds_of_buses[node]]
        source = self.sources.get(node)
        if source is None:
            return self.either([self.event(node, "dead"), self.both(ways)])
        if source.kind == "converter":
            lost = self.event(node, "lost")
            ways += [way(feed.bus, feed.through, lost) for feed in source.fed_from]
        elif node in self.net.on_line:
            ways.append(self.event(node, "lost"))
        return self.both(ways)

    def item(self, name: str) -> Event:
        """An item does not work."""
        record = self.net.network.equipment[name]
        unfed = [
            self.either([*(self.event(d, "open") for d in devices), self.unpowered(bus)])
            for bus, devices in supplies_of(self.net.network, name)
        ]
        return self.either(
            [
                self.either(unfed) if record.needs == "all" else self.both(unfed),
                *(
                    self.both(self.item(i) for i in ([r] if isinstance(r, str) else r.any))
                    for r in record.requires
                ),
            ]
        )

    def function(self, providers: list[str], need: int) -> Event:
        """Of its providers so many do not work that too few are left."""
        if need > len(providers):
            return None
        return self.either(
            self.both(self.item(provider) for provider in chosen)
            for chosen in combinations(providers, len(providers) - need + 1)
        )

    def rows(self, event: str) -> int:
        """How many rows MOCUS makes of it."""
        if event not in self.gates:
            return 1
        kind, inputs = self.gates[event]
        return (prod if kind == "And" else sum)(self.rows(i) for i in inputs)

    def cut_sets(self, top: str) -> CutSets:
        """What `cutsets` expands the tree to, without the rows that hold another."""
        gates = [("TOP", "Or", [top]), *((n, k, list(i)) for n, (k, i) in self.gates.items())]
        rows = {frozenset(self.faults[e] for e in row) for row in cutsets.mocus_init(gates)}
        return {row for row in rows if not any(other < row for other in rows)}


def target_event(tree: Tree, target: str) -> Event:
    for function in tree.net.network.catalogue.functions:
        if function.id == target:
            return tree.function(function.provided_by, function.need)
    return tree.item(target)


def found_by_sitegen(net: Network, condition: str) -> dict[str, CutSets]:
    equipment, functions = list(net.equipment), [f.id for f in net.catalogue.functions]
    found = cut_sets(net, condition, equipment, functions, order=MOST)
    for sets in found.values():
        assert len(sets) == len({frozenset(s) for s in sets})
    return {target: {frozenset(s) for s in sets} for target, sets in found.items()}


def check_against_mocus(net: Frozen) -> tuple[int, int]:
    """Compare what works; returns how many had a tree small enough, and how many there are."""
    compared = 0
    found = found_by_sitegen(net.network, net.condition)
    for target in (*net.network.equipment, *(f.id for f in net.network.catalogue.functions)):
        tree = Tree(net)
        top = target_event(tree, target)
        assert (top is not None) == (target in found), target
        if top is not None and tree.rows(top) <= MOST_ROWS:
            plain = {s for s in found[target] if all(mode in WITHOUT_SHORTS for _, mode in s)}
            assert plain == {s for s in tree.cut_sets(top) if len(s) <= MOST}, target
            compared += 1
    return compared, len(found)


@pytest.mark.parametrize("name", SMALL_NETS)
def test_a_small_nets_smallest_sets_are_those_of_its_fault_tree(name: str) -> None:
    compared, working = check_against_mocus(frozen(network(SMALL_NETS[name]), "flight"))
    assert compared == working > 0


def without_volts_and_groups(raw: Raw) -> Raw:
    """A net that fault trees can follow: they know nothing of volts, dips and groups."""
    plain = copy.deepcopy(raw)
    for item in plain["equipment"]:
        item.pop("min-volts", None)
    for device in plain["devices"]:
        device.pop("rides-through", None)
        for terms in device.get("closes-when", []):
            terms.pop("volts-above", None)
            terms.pop("volts-below", None)
    plain["functions"] = [f for f in plain["functions"] if f["id"] != "nested"]
    return plain


@thorough(80)
@given(catalogues())
def test_a_random_nets_smallest_sets_are_those_of_its_fault_tree(raw: Raw) -> None:
    net = build(Catalogue.model_validate(without_volts_and_groups(raw)), "block-1")
    compared, _ = check_against_mocus(frozen(net, raw["conditions"][0]["id"]))
    assume(compared)


@thorough(80)
@given(catalogues())
def test_a_random_nets_smallest_sets_are_those_of_its_decision_diagrams(raw: Raw) -> None:
    net = build(Catalogue.model_validate(without_volts_and_groups(raw)), "block-1")
    condition = raw["conditions"][0]["id"]
    by_diagram = cut_sets_by_diagram(net, condition, MOST)
    # Chatter in whatever scenario: it has no fixpoint.
    assume(by_diagram is not None)
    assert found_by_sitegen(net, condition) == by_diagram


@pytest.mark.parametrize("protective", ["false", "true"])
def test_a_contactor_stuck_closed_carries_a_short_across_even_if_it_is_protective(
    protective: str,
) -> None:
    net = network(TIE_THAT_CLOSES.replace("protective: false", f"protective: {protective}"))
    found = found_by_sitegen(net, "flight")
    assert found == cut_sets_by_diagram(net, "flight", MOST)
    across = frozenset({("right-bus", "shorted"), ("k-tie", "stuck-closed")})
    assert across in found["lamp"]
    # The tie does not close on a bus that is merely dead, but on a generator that is.
    assert frozenset({("cb-left", "open")}) in found["lamp"]
    assert frozenset({("left", "lost"), ("k-tie", "open")}) in found["lamp"]
    # Its diode keeps a short of the left bus from the essential bus.
    assert frozenset({("left-bus", "shorted")}) in found["lamp"] - found["radio"]


LARGEST = {("block-2", "cruise"), ("block-3", "cruise")}
"""Their diagrams take as long as all others together: they are drawn with the full samples only."""
DEMO_CASES = [
    (airframe, condition)
    for airframe in ("block-1", "block-2", "block-3")
    for condition in ("cruise", "battery-only", "on-external-power")
    if (airframe, condition) not in LARGEST or sample_size(9) == 9
]


@pytest.mark.parametrize(("airframe", "condition"), DEMO_CASES)
def test_the_demos_smallest_sets_are_those_of_its_decision_diagrams(
    airframe: str, condition: str
) -> None:
    catalogue = read(DEMO).catalogue
    assert catalogue is not None
    net = build(without_volts(catalogue), airframe)
    by_diagram = cut_sets_by_diagram(net, condition, MOST)
    assert by_diagram is not None
    found = found_by_sitegen(net, condition)
    assert found.keys() == by_diagram.keys()
    for target, sets in found.items():
        assert sets == by_diagram[target], target
    assert {len(s) for sets in found.values() for s in sets} == {1, 2, 3}
