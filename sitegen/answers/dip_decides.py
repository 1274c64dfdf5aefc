"""Which switching devices decide between the two answers to a short: ride through, or drop out.

What a device does in the aircraft is the catalogue's to say (`rides-through`). Where it does not,
both are reported if they differ. Most devices in which the answers differ only follow others, whose
contacts feed their coils, and need not be looked up.
"""

from __future__ import annotations

from collections.abc import Collection, Container, Iterable
from copy import copy
from dataclasses import dataclass, field
from functools import lru_cache

from sitegen.answers.besides import COMPARED
from sitegen.answers.drop import battery_amps, losses
from sitegen.answers.over_rating import over_rating
from sitegen.answers.overload import overloaded
from sitegen.solver.network import Network
from sitegen.solver.outcome import condition_states, solve
from sitegen.solver.scenarios import Fault, Masks, Scenario, scenarios_of
from sitegen.solver.setting import Positions, Setting


def left_open(network: Network) -> frozenset[str]:
    """The devices of which the catalogue does not say whether they ride through or drop out."""
    certain, every = network.dropping_out
    return frozenset(every).difference(certain)


def has_short(nodes: Container[str], failed: Iterable[Fault]) -> bool:
    """Whether any of these nodes is shorted; a shorted diode holds no volts down."""
    return any(mode == "shorted" and component in nodes for component, mode in failed)


def may_drop_out(network: Network, failed: Iterable[Fault]) -> bool:
    """Whether there may be another answer, for want of what the catalogue says of contactors."""
    return has_short(network.nodes, failed) and bool(left_open(network))


@lru_cache(maxsize=256)
def deciding(network: Network, condition: str, failed: tuple[Fault, ...]) -> tuple[str, ...]:
    """The devices on which it depends which answer fits, of those on which the catalogue is silent.

    Parameters
    ----------
    network, condition, failed : the airframe, and what fails in which condition.

    Notes
    -----
    Those are named that make a difference if they alone drop out, or if they alone of all ride
    through: in what is lost, overloaded, over its rating, or live and backed by a battery, and in
    what batteries give. Of three
    of which any two make it none is named, nor where only what the crew does then makes it.
    """
    scenario = Scenario(condition, failed)
    moving = _Moving()
    scenarios = scenarios_of([scenario])
    solve(network, scenarios, condition_states(network), dip=True, record=moving)
    moved = [d for d in network.switching if d in moving.devices & left_open(network)]
    first, second = (_answer(network, scenario, dropping) for dropping in ((), moved))
    if first == second:
        return ()
    return tuple(
        d
        for d in moved
        if _answer(network, scenario, [d]) != first
        or _answer(network, scenario, [o for o in moved if o != d]) != second
    )


def _answer(network: Network, scenario: Scenario, dropping: Collection[str]) -> tuple[object, ...]:
    """What the failure alone does, if these drop out of those on which the catalogue is silent."""
    certain, every = network.dropping_out
    other = copy(network)  # with all that is worked out of it: nothing else depends on this
    other.__dict__["dropping_out"] = certain, tuple(d for d in every if d in {*certain, *dropping})
    before = condition_states(network)
    outcome = solve(other, scenarios_of([scenario]), before, dip=True)
    [loss] = losses(outcome, with_readings=False)
    batteries = {s.id for s in network.sources.values() if s.kind == "battery"}
    return (
        *(getattr(loss, field) for field in COMPARED),
        overloaded(outcome)[0],
        {*over_rating(outcome)[0]},
        battery_amps(outcome)[0],
        [(n.live, not batteries.isdisjoint(n.sources)) for n in loss.nodes.values()],
    )


@dataclass
class _Moving:
    """Collects the devices that are in two places in a stage (a `Recorder`)."""

    devices: set[str] = field(default_factory=set)
    in_dip: bool = False
    _closed: dict[str, int] = field(default_factory=dict)

    def begin(self) -> None:
        """A search for the steady state begins."""

    def restart(self) -> None:
        """It starts again."""

    def step(self, setting: Setting, at: Positions, down: Masks) -> None:
        """A step is over."""
        self._closed = self._closed or dict(at.closed)
        self.devices |= {d for d, closed in at.closed.items() if closed != self._closed[d]}
