"""Question 5: which indication shows which failure, and which failures have one signature?"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from sitegen.answers.indications import Readings, readings
from sitegen.answers.readings import Reading, as_seen, distinguishable, read_off, reads_as_before
from sitegen.answers.single_failures import SingleFailures
from sitegen.answers.three_answers import REMARKS, Answer
from sitegen.solver.outcome import Outcome
from sitegen.solver.scenarios import Fault, bits

FaultsByAnswer = Mapping[Answer, tuple[Fault, ...]]
"""By answer: the faults of which something is true in it, and not in the first."""


@dataclass(frozen=True)
class Signature:
    """What all indications show, as a person reads it, and the single failures that cause it."""

    readings: tuple[tuple[str, Reading], ...]
    """(indication id, what it shows), of all indications, in the author's order."""
    changed: tuple[str, ...]
    """The indications that differ from normal."""
    faults: FaultsByAnswer


@dataclass(frozen=True)
class Signatures:
    """All single failures of one condition by their signatures."""

    condition: str
    normal: Mapping[str, Reading]
    shown: tuple[Signature, ...]
    """Failures that some indication shows, those with the same signature together; in the network's
    order of the first of each."""
    unseen: FaultsByAnswer
    """Failures that no indication shows, though equipment is lost, is reduced or comes on, or
    something is overloaded."""
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
    outcome = failures.expected
    number = [c.id for c in outcome.network.catalogue.conditions].index(condition)
    normal = {
        i: next(shown for shown, mask in alternatives if mask >> number & 1)
        for i, alternatives in readings(outcome.before).items()
    }
    usual = tuple(normal.values())
    labels = _labels(failures, condition, normal)
    seen = {
        answer: _shown(
            one, failures.shown[answer], failures.has_effect[answer], condition, normal, labels
        )
        for answer, one in failures.outcomes.items()
    }
    expected = seen["expected"]
    groups: dict[Shown, dict[Answer, list[Fault]]] = {}
    unseen: dict[Answer, list[Fault]] = {}
    harmless = dict.fromkeys(f for f, one in expected.items() if one == (usual, False))
    for answer, of_faults in seen.items():
        for fault, (shown, has_effect) in of_faults.items():
            if of_faults is not expected and (shown, has_effect) == expected[fault]:
                continue
            if shown != usual:
                groups.setdefault(shown, {}).setdefault(answer, []).append(fault)
            elif has_effect:
                unseen.setdefault(answer, []).append(fault)
            else:
                continue
            harmless.pop(fault, None)
    return Signatures(
        condition,
        normal,
        tuple(
            Signature(
                tuple(zip(normal, shown, strict=True)),
                tuple(i for i, one in zip(normal, shown, strict=True) if one != normal[i]),
                _by_answer(faults),
            )
            for shown, faults in groups.items()
        ),
        _by_answer(unseen),
        tuple(harmless),
    )


def _by_answer(faults: Mapping[Answer, Sequence[Fault]]) -> FaultsByAnswer:
    """Of every answer, none where it has none."""
    return {answer: tuple(faults.get(answer, ())) for answer in REMARKS}


def _labels(
    failures: SingleFailures, condition: str, normal: Mapping[str, Reading]
) -> dict[str, dict[Reading, Reading]]:
    """By indication, by what it shows in a failure: what a person reads.

    That is the normal reading where it may be read the same, and one range of all those readings
    that a healthy meter may show in several failures.
    """
    found = {}
    kinds = {i.id: i.kind for i in failures.expected.network.catalogue.indications}
    for indication, usual in normal.items():
        kind = kinds[indication]
        shown = [
            reading
            for answer, outcome in failures.outcomes.items()
            for reading, mask in failures.shown[answer][indication]
            if mask & outcome.scenarios.in_condition.get(condition, 0)
        ]
        changed = [
            reading
            for reading in shown
            if not reads_as_before(as_seen(reading, kind), as_seen(usual, kind))
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
