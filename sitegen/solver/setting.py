"""What is set from outside in every scenario, and where switching devices are: masks.

Every quantity is an integer whose bit k is its truth in scenario k (`scenarios.py`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache

from sitegen.catalogue.model import Then
from sitegen.solver.network import Network
from sitegen.solver.scenarios import Scenarios, union


@dataclass(frozen=True)
class Setting:
    """What is set from outside in every scenario: masks over scenarios."""

    all: int
    on_line: dict[str, int]
    """By source: it would produce (for a converter: if its input is live); it has not failed."""
    dead: dict[str, int]
    """By bus: it has failed dead, and passes nothing."""
    shorted: dict[str, int]
    """By node: it has failed shorted."""
    open: dict[str, int]
    """By device: it has failed open, or is pulled."""
    stuck: dict[str, int]
    """By device: it has failed closed, and conducts whatever commands, pulls or trips it."""
    bypassed: dict[str, int]
    """By diode: it has failed shorted, and passes both ways, without drop."""
    position: dict[tuple[str, str], int]
    """By switch and position: it is set so."""
    in_condition: dict[str, int]
    """By condition: it started from this one."""
    moved: dict[tuple[str, int], int] = field(default_factory=dict)
    """By source and mV: these are its own volts, and not those that the network has."""

    @cached_property
    def can_conduct(self) -> dict[str, int]:
        """By device: it has not failed open and is not pulled; commands and trips are left out."""
        # Most breakers fail in no scenario: they share one mask, which `Power` passes over.
        found = dict.fromkeys(self.open, self.all)
        for d, mask in self.open.items():
            if mask:
                found[d] = self.all ^ mask | self.stuck[d]
        return found


@dataclass(frozen=True)
class Positions:
    """Where a search starts from, and what is remembered from one stage to the next: masks."""

    closed: dict[str, int]
    """By switching device: its coil or handle is closed."""
    chatters: dict[str, int]
    """By switching device: it was found to chatter, and counts as open."""
    opened: dict[str, int]
    """By protective device that a fault or overload has opened (tripped or blown)."""
    stalled: dict[str, int]
    """By source that a short took off line; it stays off until it is reset."""

    def copy(self) -> Positions:
        """The same in dictionaries of its own."""
        return Positions(
            dict(self.closed), dict(self.chatters), dict(self.opened), dict(self.stalled)
        )


Acts = Sequence[tuple[Then, int]]
"""(what the crew does, mask of the scenarios in which it does so)."""


def setting_for(network: Network, scenarios: Scenarios, acts: Acts = ()) -> Setting:
    """The masks of what is set from outside, from the conditions and the failed components.

    Parameters
    ----------
    network, scenarios : what to solve.
    acts : switches that the crew sets in place of the condition's own positions, and breakers that
        it pulls besides the condition's own.
    """
    every = scenarios.all
    conditions = {c.id: c for c in network.catalogue.conditions}
    here = [(conditions[c], mask) for c, mask in scenarios.in_condition.items()]

    def failed(component: str, mode: str) -> int:
        return scenarios.failed.get((component, mode), 0)

    shorted = {n: failed(n, "shorted") for n in network.nodes}
    on_line: dict[str, int] = {}
    for source in network.sources.values():
        able = every
        if source.kind != "converter":
            able = union(mask for c, mask in here if source.id in c.sources)
        on_line[source.id] = able & ~failed(source.id, "lost") & ~shorted[source.id]

    openable, diodes = _devices(network)
    opened = dict.fromkeys(openable, 0)
    stuck = dict(opened)
    bypassed = {d: failed(d, "shorted") for d in diodes}
    for condition, mask in here:
        for device in opened.keys() & condition.pulled:
            opened[device] = _either(opened[device], mask)
    for (component, mode), mask in scenarios.failed.items():
        if mode == "stuck-closed" and component in stuck:
            # What was pulled when its contacts welded stays open.
            stuck[component] = mask & ~opened[component]
    for then, where in acts:
        for device in opened.keys() & then.pulled:
            opened[device] = _either(opened[device], where)
    for (component, mode), mask in scenarios.failed.items():
        if mode == "open" and component in opened:
            opened[component] = _either(opened[component], mask)

    position: dict[tuple[str, str], int] = {}
    for switch in network.catalogue.switches:
        for place in switch.positions:
            position[switch.id, place] = 0
        for condition, mask in here:
            place = condition.switches.get(switch.id, switch.positions[0])
            position[switch.id, place] = position.get((switch.id, place), 0) | mask
        for then, where in acts:
            if switch.id in then.switches:
                for place in switch.positions:
                    position[switch.id, place] &= ~where
                place = then.switches[switch.id]
                position[switch.id, place] = position.get((switch.id, place), 0) | where
    return Setting(
        every,
        on_line,
        {b.id: failed(b.id, "dead") for b in network.catalogue.buses},
        shorted,
        opened,
        stuck,
        bypassed,
        position,
        scenarios.in_condition,
    )


@lru_cache(maxsize=8)
def _devices(network: Network) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What may fail open, or be pulled; and of it the diodes."""
    openable = [c for c in network.components.values() if "open" in c.modes]
    return tuple(c.id for c in openable), tuple(c.id for c in openable if c.kind == "diode")


def starting_from(network: Network, closed: Mapping[str, int]) -> Positions:
    """Switching devices in these positions; nothing has chattered, opened or stalled yet."""
    return Positions(dict(closed), dict.fromkeys(network.switching, 0), {}, {})


def _either(one: int, other: int) -> int:
    """`one | other`, without a copy where one is empty: of a million scenarios it takes 130 kB."""
    return one | other if one and other else one or other
