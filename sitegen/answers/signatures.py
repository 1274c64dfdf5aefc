"""Question 5: which indication shows which failure, and which failures have one signature?"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from sitegen.answers.indications import Readings, readings
from sitegen.answers.readings import (
    Reading,
    as_seen,
    distinguishable,
    read_off,
    reads_the_same,
)
from sitegen.answers.single_failures import SingleFailures
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
    if_dropping_out: tuple[Fault, ...]
    """Faults that show this only if contactors drop out."""


@dataclass(frozen=True)
class Signatures:
    """All single failures of one condition by their signatures."""

    condition: str
    normal: Mapping[str, Reading]
    shown: tuple[Signature, ...]
    """Failures that some indication shows, those with the same signature together; in the network's
    order of the first of each."""
    unseen: tuple[Fault, ...]
    """Failures that no indication shows, though equipment is lost, is reduced or comes on, or
    something is overloaded."""
    unseen_if_dropping_out: tuple[Fault, ...]
    """Faults of which this is true only if contactors drop out."""
    harmless: tuple[Fault, ...]
    """Failures that take nothing and show nowhere: perhaps a second failure will need the part."""


Shown = tuple[Reading, ...]
"""What all indications show, in the author's order."""


def signature_table(failures: SingleFailures, condition: str) -> Signatures:
    """Every single failure in a condition, grouped by what the indications show.

    Parameters
    ----------
    failures : in this condition and perhaps in others.
    condition : a condition's id.
    """
    outcome = failures.ride_through
    number = [c.id for c in outcome.network.catalogue.conditions].index(condition)
    normal = {
        i: next(shown for shown, mask in alternatives if mask >> number & 1)
        for i, alternatives in readings(outcome.before).items()
    }
    usual = tuple(normal.values())
    labels = _labels(failures, condition, normal)
    ride_through, in_dip = (
        _shown(one, shown, effect, condition, normal, labels)
        for one, shown, effect in zip(
            (outcome, failures.drop_out), failures.shown, failures.has_effect, strict=True
        )
    )
    drop_out = {
        fault: seen
        for fault, seen in in_dip.items()
        if seen != ride_through[fault] and seen != (usual, False)
    }
    groups: dict[Shown, tuple[list[Fault], list[Fault]]] = {}
    unseen: tuple[list[Fault], list[Fault]] = ([], [])
    harmless = []
    for which, seen in enumerate((ride_through, drop_out)):
        for fault, (shown, has_effect) in seen.items():
            if shown != usual:
                groups.setdefault(shown, ([], []))[which].append(fault)
            elif has_effect:
                unseen[which].append(fault)
            elif fault not in drop_out:
                harmless.append(fault)
    return Signatures(
        condition,
        normal,
        tuple(
            Signature(
                tuple(zip(normal, shown, strict=True)),
                tuple(i for i, one in zip(normal, shown, strict=True) if one != normal[i]),
                tuple(faults[0]),
                tuple(faults[1]),
            )
            for shown, faults in groups.items()
        ),
        tuple(unseen[0]),
        tuple(unseen[1]),
        tuple(harmless),
    )


def _labels(
    failures: SingleFailures, condition: str, normal: Mapping[str, Reading]
) -> dict[str, dict[Reading, Reading]]:
    """By indication, by what it shows in a failure: what a person reads.

    That is the normal reading where it may be read the same, and one range of all those readings
    that a healthy meter may show in several failures.
    """
    found = {}
    kinds = {i.id: i.kind for i in failures.ride_through.network.catalogue.indications}
    for indication, usual in normal.items():
        kind = kinds[indication]
        shown = [
            reading
            for outcome, table in zip(
                (failures.ride_through, failures.drop_out), failures.shown, strict=True
            )
            for reading, mask in table[indication]
            if mask & outcome.scenarios.in_condition.get(condition, 0)
        ]
        changed = [
            reading
            for reading in shown
            if not reads_the_same(as_seen(reading, kind), as_seen(usual, kind))
        ]
        ranges = distinguishable([as_seen(read_off(r), kind) for r in changed], within=0)
        found[indication] = {
            **dict.fromkeys(shown, usual),
            **dict(zip(changed, ranges, strict=True)),
        }
    return found


def _shown(
    outcome: Outcome,
    readings_after: Mapping[str, Readings],
    has_effect: int,
    condition: str,
    normal: Iterable[str],
    labels: Mapping[str, Mapping[Reading, Reading]],
) -> dict[Fault, tuple[Shown, bool]]:
    """By fault: what a person reads, and whether the failure has an effect."""
    scenarios = outcome.scenarios.in_condition.get(condition, 0)
    read: dict[int, dict[str, Reading]] = {k: {} for k in bits(scenarios)}
    for indication, alternatives in readings_after.items():
        for shown, mask in alternatives:
            for k in bits(mask & scenarios):
                read[k][indication] = labels[indication][shown]
    return {
        outcome.scenarios.at(k).faults[0]: (
            tuple(shows[i] for i in normal),
            bool(has_effect >> k & 1),
        )
        for k, shows in read.items()
    }
