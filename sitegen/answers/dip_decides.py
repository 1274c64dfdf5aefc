"""Which switching devices decide between the two answers to a short: ride through, or drop out.

Both are reported where they differ. What a device does in the aircraft is the catalogue's to say
(`rides-through`); most devices in which the answers differ only follow others, whose contacts feed
their coils, and need not be looked up.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from copy import copy
from dataclasses import dataclass, field
from functools import lru_cache

from sitegen.answers.besides import differs
from sitegen.answers.drop import Loss, drop, losses
from sitegen.catalogue.model import Terms, Then
from sitegen.reachable import reachable
from sitegen.solver.network import Network
from sitegen.solver.outcome import Outcome, condition_states, solve
from sitegen.solver.power import Power
from sitegen.solver.scenarios import Fault, Masks, Scenario, scenarios_of
from sitegen.solver.setting import Positions, Setting


def deciding(network: Network, loss: Loss, other: Loss) -> tuple[str, ...]:
    """The devices that do not ride through and on which it depends which answer fits.

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
        if d in devices - network.rides_through
        and all(lead in reached[d] for lead in devices if d in reached[lead])
    )
    return found or _making_the_difference(network, loss.condition, loss.failed)


def that_decide(network: Network, loss: Loss, other: Loss) -> tuple[list[str], list[str]]:
    """Of the devices that decide: those that the catalogue says drop out; those it is silent on.

    Parameters are those of `deciding`.
    """
    drops_out = {d.id for d in network.catalogue.devices if d.rides_through is False}
    every = deciding(network, loss, other)
    return [d for d in every if d in drops_out], [d for d in every if d not in drops_out]


def expected_to_drop_out(network: Network, loss: Loss, dip: Loss | None) -> list[str]:
    """What decides and drops out by the catalogue, if that answer is the one to expect.

    It is where the catalogue is silent on nothing that decides, or where what it says drops out
    rules out, alone, the answer in which all ride through. Empty where it is not, or where the
    answers do not differ, in what is lost or in what conducts: amps and minutes follow that.
    """
    if dip is None or not (differs(loss, dip) or loss.conducts != dip.conducts):
        return []
    said, unsaid = that_decide(network, loss, dip)
    alone = not unsaid or (
        said and not _spared(network, loss.condition, loss.failed, frozenset(unsaid))
    )
    return said if alone else []


def drops_out(
    network: Network, condition: str, failed: Sequence[Fault], then: Then | None = None
) -> bool:
    """Whether the answer to expect of a failure is the one in which contactors drop out.

    `then`: once the crew has done this.
    """
    if not has_short(failed):
        return False
    rides, drops = (drop(network, condition, failed, then, dip=dip) for dip in (False, True))
    return bool(expected_to_drop_out(network, rides, drops))


def has_short(failed: Iterable[Fault]) -> bool:
    """Whether anything of it holds coils down: only a short does."""
    return any(mode == "shorted" for _, mode in failed)


@dataclass(frozen=True)
class DropOutExpected:
    """In which scenarios the answer to expect is the one in which contactors drop out."""

    network: Network
    before: Power
    """The conditions with nothing failed."""
    _known: dict[Scenario, bool] = field(default_factory=dict)

    def among(self, scenarios: Iterable[Scenario]) -> frozenset[Scenario]:
        """Those of these scenarios; there are none without a short in it."""
        wanted = [one for one in dict.fromkeys(scenarios) if has_short(one.faults)]
        new = [one for one in wanted if one not in self._known]
        if new:
            of = scenarios_of(new)
            riding, dropping = (
                losses(solve(self.network, of, self.before, dip), with_readings=False)
                for dip in (False, True)
            )
            for one, loss, other in zip(new, riding, dropping, strict=True):
                self._known[one] = bool(expected_to_drop_out(self.network, loss, other))
        return frozenset(one for one in wanted if self._known[one])


def expected_outcomes(
    network: Network, before: Power, scenarios: Sequence[Scenario]
) -> Iterator[tuple[list[int], Outcome]]:
    """Scenarios in the answer to expect of each, ride through or drop out: the numbers of those of
    one answer, and their outcome.
    """
    dropping = DropOutExpected(network, before).among(scenarios)
    for dip in (False, True):
        here = [k for k, one in enumerate(scenarios) if (one in dropping) == dip]
        if here:
            yield here, solve(network, scenarios_of([scenarios[k] for k in here]), before, dip)


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
        if d in moving.devices - network.rides_through
        and _spared(network, condition, failed, frozenset([d]))
    )


@lru_cache(maxsize=256)
def _spared(
    network: Network, condition: str, failed: tuple[Fault, ...], riding: frozenset[str]
) -> bool:
    """Whether the failure alone does as in answer 1 if these devices ride through a dip as well."""
    scenarios, before = scenarios_of([Scenario(condition, failed)]), condition_states(network)
    other = copy(network)  # with all that is worked out of it: nothing else depends on this
    other.__dict__["rides_through"] = network.rides_through | riding
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
