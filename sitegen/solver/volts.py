"""What every node shows, in whole millivolts: the highest volts over all ways from the sources."""

from __future__ import annotations

from collections.abc import Sequence

from sitegen.solver.graph import backwards
from sitegen.solver.network import Branch, Network
from sitegen.solver.scenarios import Masks, union
from sitegen.solver.setting import Setting


class Levels(dict[str, list[tuple[int, int]]]):
    """By node: (mV, mask of the scenarios in which it shows them), highest first, the masks apart.

    What no power reaches is left out, and shows nothing: of many nodes a source reaches few.
    """

    def __missing__(self, node: str) -> list[tuple[int, int]]:
        return []


Drops = dict[str, list[tuple[str, int, int]]]
"""By node, where power passes from there: (node, mask of the scenarios, drop in mV)."""


def drops_along(network: Network, setting: Setting, masks: Sequence[int]) -> Drops:
    """The ways between nodes, converters left out, each with the drops of its sound diodes."""
    arcs: Drops = {n: [] for n in network.nodes}
    for branch, mask in zip(network.branches, masks, strict=True):
        if branch.into_converter or not mask:
            continue
        for drop, where in diode_drops(network, branch, mask, setting).items():
            arcs[branch.origin].append((branch.target, where, drop))
        back = backwards(branch, mask, setting.bypassed)
        if back:
            arcs[branch.target].append((branch.origin, back, 0))
    return arcs


def own_volts(network: Network, setting: Setting, source: str, mask: int) -> list[tuple[int, int]]:
    """A source's own volts in the scenarios of a mask: (mV, where)."""
    moved = [(mv, mask & at) for (s, mv), at in setting.moved.items() if s == source and mask & at]
    rest = mask & ~union(at for _, at in moved)
    return [*moved, (network.millivolts[source], rest)] if rest else moved


def levels(
    network: Network, setting: Setting, arcs: Drops, produces: Masks, passes: Masks
) -> Levels:
    """What nodes show by the own power of some sources: the highest over all ways to them, mV.

    On each way the drops of the sound diodes are taken from the source's volts; never less than 0.
    From the highest volts down, as Dijkstra's shortest paths (1959), for all scenarios at once.
    """
    shown = Levels()
    taken: dict[str, int] = {}
    ahead: dict[int, dict[str, int]] = {}
    for source, mask in produces.items():
        for level, where in own_volts(network, setting, source, mask) if mask else ():
            at = ahead.setdefault(level, {})
            at[source] = at.get(source, 0) | where
    while ahead:
        level = max(ahead)
        here: dict[str, int] = {}
        waiting = ahead.pop(level)
        while waiting:
            node = next(iter(waiting))
            mask = waiting.pop(node)
            new = mask & passes[node] & ~taken.get(node, 0)
            if not new:
                continue
            taken[node] = taken.get(node, 0) | new
            here[node] = here.get(node, 0) | new
            for target, where, drop in arcs[node]:
                on = new & where & ~taken.get(target, 0)
                if on:
                    lower = max(level - drop, 0)
                    at = waiting if lower == level else ahead.setdefault(lower, {})
                    at[target] = at.get(target, 0) | on
        for node, mask in here.items():
            shown.setdefault(node, []).append((level, mask))
    return shown


def diode_drops(network: Network, branch: Branch, mask: int, setting: Setting) -> dict[int, int]:
    """By the sum of the drops of a branch's sound diodes, mV: its part of the branch's mask."""
    found = {0: mask}
    for diode in branch.diodes:
        bypassed, drop = setting.bypassed[diode], network.millivolts[diode]
        sums: dict[int, int] = {}
        for total, where in found.items():
            for more, part in ((drop, where & ~bypassed), (0, where & bypassed)):
                if part:
                    sums[total + more] = sums.get(total + more, 0) | part
        found = sums
    return found
