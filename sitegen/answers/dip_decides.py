"""Which switching devices decide between the two answers to a short: ride through, or drop out.

What a device does in the aircraft is the catalogue's to say (`rides-through`). Where it does not,
both are reported if they differ. Most devices in which the answers differ only follow others, whose
contacts feed their coils, and need not be looked up.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from copy import copy
from dataclasses import dataclass, field
from functools import lru_cache

from sitegen.answers.besides import differs
from sitegen.answers.drop import Loss, losses
from sitegen.catalogue.model import Terms
from sitegen.reachable import reachable
from sitegen.solver.network import Network
from sitegen.solver.outcome import condition_states, solve
from sitegen.solver.scenarios import Fault, Masks, Scenario, scenarios_of
from sitegen.solver.setting import Positions, Setting


def deciding(network: Network, loss: Loss, other: Loss) -> tuple[str, ...]:
    """The devices on which it depends which answer fits, of those on which the catalogue is silent.

    Parameters
    ----------
    network : the airframe.
    loss, other : the two answers to one failure.

    Notes
    -----
    Of what is otherwise in the two answers, a device follows a node that is in its closing
    conditions, and a node follows the devices in its branches and the nodes at their other ends. A
    device decides if whatever it follows, through any number of steps, follows it in turn.

    One that has closed again by then, while something that needed it has not, is in neither list.
    Where no other decides, those do that alone make the difference if they ride through.
    """
    devices = {d for d in network.switching if loss.conducts[d] != other.conducts[d]}
    nodes = {n for n, state in loss.nodes.items() if state.live != other.nodes[n].live}
    onward: dict[str, set[str]] = {}
    for one, next_one in _followed(network):
        if one in devices | nodes and next_one in devices | nodes:
            onward.setdefault(one, set()).add(next_one)
    reached = {d: reachable(onward, [d]) for d in devices}
    found = tuple(
        d
        for d in network.switching
        if d in devices & left_open(network)
        and all(lead in reached[d] for lead in devices if d in reached[lead])
    )
    return found or _making_the_difference(network, loss.condition, loss.failed)


def left_open(network: Network) -> frozenset[str]:
    """The devices of which the catalogue does not say whether they ride through or drop out."""
    certain, every = network.dropping_out
    return frozenset(every).difference(certain)


def has_short(failed: Iterable[Fault]) -> bool:
    """Whether anything of it holds coils down: only a short does."""
    return any(mode == "shorted" for _, mode in failed)


def may_drop_out(network: Network, failed: Iterable[Fault]) -> bool:
    """Whether there may be another answer, for want of what the catalogue says of contactors."""
    return has_short(failed) and bool(left_open(network))


@lru_cache(maxsize=256)
def _making_the_difference(
    network: Network, condition: str, failed: tuple[Fault, ...]
) -> tuple[str, ...]:
    """The devices without which, if they rode through, the failure alone does as in answer 1.

    A device that stays where it is all the time rides through as it is.
    """
    scenarios, before = scenarios_of([Scenario(condition, failed)]), condition_states(network)
    [first] = losses(solve(network, scenarios, before), with_readings=False)
    moving = _Moving()
    dropped_out = solve(network, scenarios, before, dip=True, record=moving)
    [dropping] = losses(dropped_out, with_readings=False)
    if not differs(first, dropping):
        return ()  # only what the crew does then makes the difference

    return tuple(
        d
        for d in network.switching
        if d in moving.devices & left_open(network)
        and _spared(network, condition, failed, frozenset([d]))
    )


@lru_cache(maxsize=256)
def _spared(
    network: Network, condition: str, failed: tuple[Fault, ...], riding: frozenset[str]
) -> bool:
    """Whether the failure alone does as in answer 1 if these devices ride through a dip as well."""
    scenarios, before = scenarios_of([Scenario(condition, failed)]), condition_states(network)
    other = copy(network)  # with all that is worked out of it: nothing else depends on this
    certain, every = network.dropping_out
    other.__dict__["dropping_out"] = certain, tuple(d for d in every if d not in riding)
    [first] = losses(solve(network, scenarios, before), with_readings=False)
    [dip] = losses(solve(other, scenarios, before, dip=True), with_readings=False)
    return not differs(first, dip)


@dataclass
class _Moving:
    """Collects the devices that are in two places in a stage (a `Recorder`)."""

    devices: set[str] = field(default_factory=set)
    _closed: dict[str, int] = field(default_factory=dict)

    def begin(self) -> None:
        """A search for the steady state begins."""

    def restart(self) -> None:
        """It starts again."""

    def step(self, setting: Setting, at: Positions, down: Masks) -> None:
        """A step is over."""
        self._closed = self._closed or dict(at.closed)
        self.devices |= {d for d, closed in at.closed.items() if closed != self._closed[d]}


def _followed(network: Network) -> Iterator[tuple[str, str]]:
    """What may depend on what: (a device or node, what follows it)."""
    for branch in network.branches:
        for device in branch.through:
            yield device, branch.origin
            yield device, branch.target
        yield branch.origin, branch.target
        yield branch.target, branch.origin
    for device, conditions in network.switching.items():
        for terms in conditions:
            for name in _named(terms):
                yield name, device


def _named(terms: Terms) -> Iterator[str]:
    for names in (terms.live, terms.dead, terms.closed, terms.open):
        yield from names
    yield from terms.volts_above
    yield from terms.volts_below
