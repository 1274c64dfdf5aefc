"""Question 5: which indication shows which failure, and which failures have one signature?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sitegen.answers.indications import readings
from sitegen.answers.readings import Reading, read_off, reads_the_same
from sitegen.solver.outcome import Outcome
from sitegen.solver.scenarios import Fault, bits


@dataclass(frozen=True)
class Signature:
    """What all indications show, as a person reads it, and the single failures that cause it."""

    readings: tuple[tuple[str, Reading], ...]
    """(indication id, what it shows), of all indications, in the author's order."""
    changed: tuple[str, ...]
    """The indications that differ from normal."""
    faults: tuple[Fault, ...]


@dataclass(frozen=True)
class Signatures:
    """All single failures of one condition by their signatures."""

    condition: str
    normal: Mapping[str, Reading]
    shown: tuple[Signature, ...]
    """Failures that some indication shows, those with the same signature together; in the network's
    order of the first of each."""
    unseen: tuple[Fault, ...]
    """Failures that no indication shows, though equipment is lost, is reduced or comes on."""
    harmless: tuple[Fault, ...]
    """Failures that take nothing and show nowhere: perhaps a second failure will need the part."""


def signature_table(outcome: Outcome, condition: str) -> Signatures:
    """Every single failure in a condition, grouped by what the indications show.

    Parameters
    ----------
    outcome : every single failure, in this condition and perhaps in others.
    condition : a condition's id.
    """
    number = [c.id for c in outcome.network.catalogue.conditions].index(condition)
    normal = {
        i: next(shown for shown, mask in alternatives if mask >> number & 1)
        for i, alternatives in readings(outcome.before).items()
    }
    scenarios = outcome.scenarios.in_condition[condition]
    read: dict[int, dict[str, Reading]] = {k: {} for k in bits(scenarios)}
    for indication, alternatives in readings(outcome.after).items():
        for shown, mask in alternatives:
            usual = normal[indication]
            seen = usual if reads_the_same(shown, usual) else read_off(shown)
            for k in bits(mask & scenarios):
                read[k][indication] = seen
    has_effect = _has_effect(outcome)
    groups: dict[tuple[Reading, ...], list[Fault]] = {}
    unseen: list[Fault] = []
    harmless: list[Fault] = []
    for k, shows in read.items():
        fault = outcome.scenarios.at(k).faults[0]
        if shows != normal:
            groups.setdefault(tuple(shows[i] for i in normal), []).append(fault)
        elif has_effect >> k & 1:
            unseen.append(fault)
        else:
            harmless.append(fault)
    return Signatures(
        condition,
        normal,
        tuple(
            Signature(
                tuple(zip(normal, shown, strict=True)),
                tuple(i for i, one in zip(normal, shown, strict=True) if one != normal[i]),
                tuple(faults),
            )
            for shown, faults in groups.items()
        ),
        tuple(unseen),
        tuple(harmless),
    )


def _has_effect(outcome: Outcome) -> int:
    """Where something is lost, is reduced or comes on, or the state of a node changes."""
    before, after = outcome.before, outcome.after
    mask = 0
    for item in outcome.network.equipment:
        mask |= outcome.lost[item] | outcome.reduced[item] | outcome.comes_on[item]
    for node in outcome.network.nodes:
        mask |= after.steady.down[node]
        mask |= after.steady.live[node] ^ outcome.was(before.steady.live[node])
        mask |= after.from_machines[node] ^ outcome.was(before.from_machines[node])
        for source in outcome.network.sources:
            mask |= after.reach[source][node] ^ outcome.was(before.reach[source][node])
    return mask
