"""What loadmeters and ammeters read, in every scenario of a batch.

A meter has a figure where all current through it is known and has no other path.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from sitegen.answers.loads.certain_flow import flows_for_certain
from sitegen.answers.loads.drawn import Draws
from sitegen.answers.loads.meter_bands import Flow
from sitegen.answers.loads.net_variations import Meter
from sitegen.solver.network import Network
from sitegen.solver.scenarios import union


@dataclass(frozen=True)
class Metered:
    """Amps at one place in every scenario."""

    flows: dict[Flow, int]
    """By what flows, its scenarios."""
    unsure: int
    """The scenarios whose amps are not known: an item without a figure draws through here, the
    current has several paths, or a converter feeds its own input, wherever the sources are in their
    `volts-range`."""
    some: int
    """Of the unsure scenarios those in which current flows all the same."""

    def where(self, holds: Callable[[Flow], bool]) -> int:
        """The sure scenarios in which what flows is as asked."""
        return union(mask for flow, mask in self.flows.items() if holds(flow))


@lru_cache(maxsize=256)
def meter_at(network: Network, at: str, source: str | None = None, sign: int = 1) -> Meter:
    """A meter at a source, or at a device in all branches that it is in."""
    through = frozenset(k for k, b in enumerate(network.branches) if at in b.through)
    return Meter(at, through, source, sign)


def metered(drawn: Draws, *meters: Meter) -> Metered:
    """The amps at a meter, of several the sum.

    Parameters
    ----------
    drawn : what flows, in solved scenarios.
    """
    flows: dict[Flow, int] = {}
    unsure = some = 0
    for varying, mask in zip(drawn.variations, drawn.masks, strict=True):
        flow = varying.flow(*meters)
        if flow is not None:
            flows[flow] = flows.get(flow, 0) | mask
        else:
            unsure |= mask
            some |= mask if flows_for_certain(varying, *meters) else 0
    return Metered(flows, unsure, some)
