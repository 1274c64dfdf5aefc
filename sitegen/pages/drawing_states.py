"""The state of every part of a drawing in an answer: live, on battery only, dead, open, failed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from sitegen.answers.drop import Loss
from sitegen.catalogue.model import Catalogue
from sitegen.diagram.parts import PartKey
from sitegen.pages.fragments.condition_states import power_state
from sitegen.solver.network import Network

POWER = ("dead", "battery", "live")
"""What may be on a wire, the better the later."""


@dataclass(frozen=True)
class DrawnBranch:
    """A feeder, or the input of a converter, as the parts that are drawn of it."""

    origin: str
    target: str
    through: tuple[str, ...]
    diodes: tuple[bool, ...]
    """For each device in it, whether it is a diode."""
    both_ways: bool
    """False for a converter's input: its output sends nothing back."""
    wires: tuple[PartKey, ...]
    devices: tuple[PartKey, ...]


def drawn_branches(catalogue: Catalogue) -> tuple[DrawnBranch, ...]:
    """Every feeder and converter input of one airframe, in the order of its network's branches."""
    return tuple(_drawn_branches(catalogue))


def _drawn_branches(catalogue: Catalogue) -> Iterator[DrawnBranch]:
    diodes = {d.id for d in catalogue.devices if d.kind == "diode"}

    def branch(
        origin: str, target: str, through: Sequence[str], index: int, converter: str | None
    ) -> DrawnBranch:
        name = f"{origin}..{target}"
        return DrawnBranch(
            origin,
            target,
            tuple(through),
            tuple(d in diodes for d in through),
            converter is None,
            tuple(PartKey("wire", name, index, k, converter) for k in range(len(through) + 1)),
            tuple(PartKey("device", d, index, k, converter) for k, d in enumerate(through)),
        )

    for i, feeder in enumerate(catalogue.feeders):
        yield branch(feeder.from_, feeder.to, feeder.through, i, None)
    for source in catalogue.sources:
        for i, feed in enumerate(source.fed_from):
            yield branch(feed.bus, source.id, feed.through, i, source.id)


def parts_in_order(nodes: Sequence[str], wiring: Sequence[DrawnBranch]) -> list[PartKey]:
    """The parts in the order in which `states` gives their states."""
    parts = [PartKey("node", node) for node in nodes]
    for s in wiring:
        parts += (*s.wires, *s.devices)
    return parts


def states(network: Network, wiring: Sequence[DrawnBranch], loss: Loss) -> list[str]:
    """The state of every part in one answer: the nodes in their order, then each branch.

    A failed device that still conducts is `failed closed`. The wires of a branch have what
    reaches them from either end.
    """
    failed = {component for component, _ in loss.failed}
    power = {node: power_state(state) for node, state in loss.nodes.items()}
    by_part = ["failed" if node in failed else state for node, state in power.items()]
    conducts = loss.conducts
    for s in wiring:
        closed = tuple([conducts[d] for d in s.through])
        out = tuple([d in failed for d in s.through])
        far = power[s.target] if s.both_ways else "dead"
        by_part += _along(power[s.origin], far, closed, s.diodes, out)
    return by_part


@lru_cache(maxsize=65536)
def as_classes(by_view: tuple[str, ...]) -> str:
    """States by view as the classes of a part.

    >>> as_classes(("live", "failed closed"))
    'live-0 failed-1 closed-1'
    """
    return " ".join(f"{word}-{k}" for k, state in enumerate(by_view) for word in state.split())


@lru_cache(maxsize=65536)
def _along(
    near: str,
    far: str,
    closed: tuple[bool, ...],
    diodes: tuple[bool, ...],
    failed: tuple[bool, ...],
) -> tuple[str, ...]:
    """The states of a branch's wires, then its devices, from those of its two ends."""
    number = len(closed)
    wires = []
    for k in range(number + 1):
        from_near = near if all(closed[:k]) else "dead"
        back = all(closed[k:]) and not any(diodes[k:])
        wires.append(_better(from_near, far if back else "dead"))
    devices = []
    for k in range(number):
        # A diode is judged by its near side alone: what is after it does not pass back.
        passing = wires[k] if diodes[k] else _better(wires[k], wires[k + 1])
        if failed[k]:
            devices.append("failed closed" if closed[k] else "failed")
        else:
            devices.append(passing if closed[k] else "open")
    return (*wires, *devices)


def _better(one: str, other: str) -> str:
    return max(one, other, key=POWER.index)
