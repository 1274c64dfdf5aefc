"""What is dead and what works with the sources at many volts at once.

The answers of an airframe at other volts of its sources take a network of their own. Here each way
to set the sources is one scenario among others, so that the ways in which what is seen dead would
work, or what is seen to work would be dead, are left out at the cost of one. What meters and lamps
show is asked of those that are left.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from sitegen.answers.elsewhere_in_range import Elsewhere
from sitegen.answers.observations import Observation, all_hold
from sitegen.solver.faults import run_stage
from sitegen.solver.network import Network
from sitegen.solver.power import Power
from sitegen.solver.scenarios import Fault, Scenario, bits, every_single, scenarios_of, union
from sitegen.solver.setting import setting_for, starting_from
from sitegen.solver.steady_state import SteadyState, at_rest

MOST_SCENARIOS = 1 << 14
"""Solved at once: masks of 2 kB."""


def possibly_healthy(
    network: Network,
    condition: str,
    observations: Sequence[Observation],
    there: Sequence[Elsewhere],
) -> list[Elsewhere]:
    """Those at which what is seen dead and working is so with nothing failed."""
    seen = _dead_or_working(network, observations)
    if not seen or not there:
        return [*there]
    mask = all_hold(network, seen, Power(_nothing_failed(network, condition, there)))
    return [at for way, at in enumerate(there) if mask >> way & 1]


def possible_with(
    network: Network,
    condition: str,
    observations: Sequence[Observation],
    there: Sequence[Elsewhere],
    faults: Sequence[Fault],
) -> Iterator[int]:
    """By each of these the faults, by their place, after which alone it is so."""
    seen, size = _dead_or_working(network, observations), len(faults)
    every = (1 << size) - 1
    if not seen or not size:
        yield from [every] * len(there)
        return
    step = max(1, MOST_SCENARIOS // size)
    for start in range(0, len(there), step):
        some = there[start : start + step]
        power = _with_one_failed(network, condition, some, faults)
        mask = all_hold(network, seen, power)
        yield from (mask >> size * way & every for way in range(len(some)))


def _dead_or_working(network: Network, observations: Sequence[Observation]) -> list[Observation]:
    return [o for o in observations if o.subject in network.equipment or o.subject in network.nodes]


def _nothing_failed(network: Network, condition: str, ways: Sequence[Elsewhere]) -> SteadyState:
    scenarios = scenarios_of([Scenario(condition)] * len(ways))
    setting = replace(setting_for(network, scenarios), moved=_moved(ways, 1))
    return run_stage(network, setting, at_rest(network, scenarios, setting))


def _with_one_failed(
    network: Network, condition: str, ways: Sequence[Elsewhere], faults: Sequence[Fault]
) -> Power:
    before, size = _nothing_failed(network, condition, ways), len(faults)
    # A block of faults for each way, as for a condition.
    blocks = every_single(map(str, range(len(ways))), faults)
    scenarios = replace(blocks, in_condition={condition: blocks.all})
    setting = replace(setting_for(network, scenarios), moved=_moved(ways, size))
    block = (1 << size) - 1
    closed = {
        device: union(block << size * way for way in bits(before.conducts[device]))
        for device in network.switching
    }
    return Power(run_stage(network, setting, starting_from(network, closed)))


def _moved(ways: Sequence[Elsewhere], size: int) -> dict[tuple[str, int], int]:
    """By source and mV the scenarios in which it has these; every way has `size` of them."""
    found: dict[tuple[str, int], int] = {}
    block = (1 << size) - 1
    for number, way in enumerate(ways):
        for moved in way.volts.items():
            found[moved] = found.get(moved, 0) | block << size * number
    return found
