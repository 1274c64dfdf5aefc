"""Question 7: how does this airframe differ from that one, in the wiring and in what is lost?"""

from __future__ import annotations

from dataclasses import dataclass, replace

from sitegen.answers.failure_changes import ConditionChange, Consequence, single_failure_changes
from sitegen.answers.record_changes import RecordChange, record_changes
from sitegen.solver.network import Network

WORDS_ONLY = {"reworded", "checked"}
"""Kinds of change that say nothing of the wiring."""


@dataclass(frozen=True)
class Differences:
    """How two airframes of one catalogue differ."""

    one: str
    other: str
    only_one: tuple[RecordChange, ...]
    only_other: tuple[RecordChange, ...]
    changed: tuple[RecordChange, ...]
    """Records that both have and that are not wired the same."""
    conditions: tuple[ConditionChange, ...]
    """What works on one of them alone with nothing failed."""
    consequences: tuple[Consequence, ...]


def differences(one: Network, other: Network) -> Differences:
    """Compare two airframes record by record, then failure by failure.

    Parameters
    ----------
    one, other : networks of the same catalogue.
    """
    records = wired_differently(one, other)
    conditions, consequences = single_failure_changes(one, other)
    return Differences(
        one.airframe,
        other.airframe,
        tuple(r for r in records if r.change == "removed"),
        tuple(r for r in records if r.change == "added"),
        tuple(r for r in records if r.change == "changed"),
        conditions,
        consequences,
    )


def wired_differently(one: Network, other: Network) -> list[RecordChange]:
    """The records that only one of two airframes has, or that are not wired the same."""
    found = []
    for record in record_changes(one, other):
        fields = tuple(field for field in record.fields if field.kind not in WORDS_ONLY)
        if fields:
            found.append(replace(record, fields=fields))
    return found
