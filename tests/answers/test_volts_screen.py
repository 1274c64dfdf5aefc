"""At many volts at once: the same dead and working as at each of them by itself."""

from __future__ import annotations

import random

from sitegen.answers.elsewhere_in_range import Elsewhere, anywhere_in_range, with_failures
from sitegen.answers.observations import Observation, all_hold
from sitegen.answers.volts_screen import possible_with, possibly_healthy
from sitegen.solver.network import Network
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import Scenario, bits, every_single, scenarios_of
from tests.nets_by_volts import two_batteries
from tests.samples import sample_size

NETS = 300


def dead_or_working(net: Network, chance: random.Random) -> list[Observation]:
    seen = chance.sample([*net.equipment, *(b.id for b in net.catalogue.buses)], 2)
    return [Observation(one, chance.choice(("dead", "works"))) for one in seen]


def healthy_by_itself(at: Elsewhere, seen: list[Observation]) -> bool:
    net, before = at.airframe
    after = solve(net, scenarios_of([Scenario("flight")]), before).after
    return bool(all_hold(net, seen, after))


def test_the_screen_says_the_same_as_each_airframe_by_itself() -> None:
    chance = random.Random(14)
    left_out = healthy = explained = 0
    for _ in range(sample_size(NETS)):
        net = two_batteries(chance)
        seen = dead_or_working(net, chance)
        there = anywhere_in_range(net, "flight", seen)
        may = possibly_healthy(net, "flight", seen, there)
        assert [*map(id, may)] == [id(at) for at in there if healthy_by_itself(at, seen)]
        left_out += len(there) - len(may)
        healthy += len(may)
        with_one = with_failures(net, "flight", seen)
        faults = [*net.faults]
        singles = every_single(["flight"], faults)
        possible = [*possible_with(net, "flight", seen, with_one, faults)]
        assert len(possible) == len(with_one)
        for at, mask in zip(with_one, possible, strict=True):
            moved, before = at.airframe
            assert mask == all_hold(moved, seen, solve(moved, singles, before).after)
            explained += len([*bits(mask)])
    assert min(left_out, healthy, explained) > 100


def test_what_no_item_or_bus_says_excludes_nothing() -> None:
    net = two_batteries(random.Random(1))
    there = with_failures(net, "flight", [])
    assert possibly_healthy(net, "flight", [], there) == there
    faults = [*net.faults][:3]
    assert [*possible_with(net, "flight", [], there, faults)] == [0b111] * len(there)
