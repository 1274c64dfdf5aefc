"""Minimal cut sets, each listed by itself."""

from __future__ import annotations

from collections.abc import Sequence

from sitegen.answers.cut_sets import LARGEST_SET, CutSet, grouped_cut_sets, ungrouped
from sitegen.solver.network import Network


def cut_sets(
    network: Network,
    condition: str,
    equipment: Sequence[str] = (),
    functions: Sequence[str] = (),
    order: int = LARGEST_SET,
) -> dict[str, tuple[CutSet, ...]]:
    """By target its sets of at most `order` failures, in the network's order."""
    found = grouped_cut_sets(network, condition, equipment, functions, order)
    return {target: ungrouped(network, groups) for target, groups in found.items()}
