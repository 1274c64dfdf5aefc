"""Question 5: which indication shows which failure, and which failures look the same?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sitegen.network.drop import Loss, losses
from sitegen.network.network import Network
from sitegen.network.outcome import Power, conditions_settled, solve
from sitegen.network.scenarios import Fault, Scenario, every_single, listed


@dataclass(frozen=True)
class Look:
    """What a person reads in one way, and every single failure that would make it read so."""

    readings: tuple[tuple[str, str], ...]
    """(indication id, what it shows), of all indications, in the author's order."""
    changed: tuple[str, ...]
    """The indications that differ from normal."""
    faults: tuple[Fault, ...]


@dataclass(frozen=True)
class Looks:
    """All single failures of one condition by what they look like."""

    condition: str
    normal: Mapping[str, str]
    shown: tuple[Look, ...]
    """Failures that some indication shows, those that look the same together; in the network's
    order of the first of each."""
    unseen: tuple[Fault, ...]
    """Failures that no indication shows, though equipment is lost or reduced."""
    harmless: tuple[Fault, ...]
    """Failures that change nothing in this condition."""


def looks(network: Network, condition: str, before: Power | None = None) -> Looks:
    """Every single failure in a condition, grouped by what the indications show.

    Parameters
    ----------
    network, condition : where.
    before : the conditions already settled, where the caller has them.
    """
    before = before or conditions_settled(network)
    normal = losses(solve(network, listed([Scenario(condition)]), before))[0]
    singles = losses(solve(network, every_single([condition], network.faults), before))
    indications = [i.id for i in network.catalogue.indications]
    groups: dict[tuple[str, ...], list[Fault]] = {}
    unseen: list[Fault] = []
    harmless: list[Fault] = []
    for loss in singles:
        readings = tuple(loss.readings[i] for i in indications)
        if loss.readings != normal.readings:
            groups.setdefault(readings, []).append(loss.failed[0])
        elif _matters(loss, normal):
            unseen.append(loss.failed[0])
        else:
            harmless.append(loss.failed[0])
    return Looks(
        condition,
        normal.readings,
        tuple(
            Look(
                tuple(zip(indications, readings, strict=True)),
                tuple(
                    i
                    for i, text in zip(indications, readings, strict=True)
                    if text != normal.readings[i]
                ),
                tuple(faults),
            )
            for readings, faults in groups.items()
        ),
        tuple(unseen),
        tuple(harmless),
    )


def _matters(loss: Loss, normal: Loss) -> bool:
    return bool(loss.lost or loss.reduced) or loss.nodes != normal.nodes
