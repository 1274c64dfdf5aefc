"""What loadmeters and ammeters read, in every scenario of a batch.

A meter has a figure where all current through it is known and has no other path.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from sitegen.answers.loads.drawn import Draws
from sitegen.quantities import Fraction
from sitegen.solver.scenarios import union


@dataclass(frozen=True)
class Metered:
    """Amps at one place in every scenario."""

    flows: dict[Fraction, int]
    """By amps that flow along the feeder, or out of the source, its scenarios; below zero they flow
    against it."""
    unsure: int
    """The scenarios whose amps are not known: an item without a figure draws through here, the
    current has several paths, or a converter feeds its own input."""
    some: int
    """Of the unsure scenarios those in which current flows all the same."""

    def where(self, holds: Callable[[Fraction], bool]) -> int:
        """The sure scenarios whose amps, along the feeder, are as asked."""
        return union(mask for amps, mask in self.flows.items() if holds(amps))


def metered(drawn: Draws, at: str) -> Metered:
    """The amps at a source, or through the feeder that a device is in.

    Parameters
    ----------
    drawn : what flows, in solved scenarios.
    at : a source's id, or a device's.
    """
    network = drawn.power.steady.network
    branches = frozenset(k for k, b in enumerate(network.branches) if at in b.through)
    flows: dict[Fraction, int] = {}
    unsure = some = 0
    for amps, mask in zip(drawn.states, drawn.masks, strict=True):
        is_source = at in network.sources
        flow, flowing = amps.given_by(at) if is_source else amps.through(branches)
        if flow is not None:
            flows[flow] = flows.get(flow, 0) | mask
        else:
            unsure |= mask
            some |= mask if flowing else 0
    return Metered(flows, unsure, some)
