"""Failures of which the same is true, together: by airframes, conditions and modes."""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from dataclasses import dataclass, replace
from typing import Generic, TypeVar

from sitegen.answers.three_answers import Answer
from sitegen.solver.scenarios import Fault

T = TypeVar("T")


@dataclass(frozen=True)
class Case:
    """One failure in one condition on some airframes."""

    fault: Fault
    """Of a named failure its id, and no mode."""
    condition: str
    airframes: tuple[str, ...]
    answer: Answer = "expected"
    """The first in which it is true."""
    part_is_new: bool = False
    after_crew: bool = False


@dataclass(frozen=True)
class FailuresOf:
    """The modes in which one component fails, or one named failure, in the same conditions."""

    component: str
    modes: tuple[str, ...]
    """Empty for a named failure."""
    conditions: tuple[str, ...]
    answer: Answer
    part_is_new: bool
    after_crew: bool
    both_stages: bool = False
    """Of a named failure: at once, and once the crew has acted."""


@dataclass(frozen=True)
class Group(Generic[T]):
    """Failures of which the same is true on the same airframes."""

    what: T
    """Of one of them."""
    airframes: tuple[str, ...]
    failures: tuple[FailuresOf, ...]


def grouped(found: Iterable[tuple[Hashable, T, Case]]) -> list[Group[T]]:
    """Group failures.

    Parameters
    ----------
    found : for each failure what must be the same in a group, what is true of it, and the failure.
    """
    on: dict[tuple[Hashable, Case], list[str]] = {}
    true: dict[Hashable, T] = {}
    for key, what, case in found:
        true.setdefault(key, what)
        on.setdefault((key, replace(case, airframes=())), []).extend(case.airframes)
    conditions: dict[tuple[Hashable, tuple[str, ...], Case], list[str]] = {}
    for (key, case), airframes in on.items():
        where = key, tuple(dict.fromkeys(airframes)), replace(case, condition="")
        conditions.setdefault(where, []).append(case.condition)
    modes: dict[tuple[Hashable, tuple[str, ...]], dict[FailuresOf, list[str]]] = {}
    for (key, airframes_of, case), names in conditions.items():
        component, mode = case.fault
        flags = case.answer, case.part_is_new, case.after_crew
        failures = FailuresOf(component, (), tuple(names), *flags)
        modes.setdefault((key, airframes_of), {}).setdefault(failures, []).append(mode)
    return [
        Group(
            true[key],
            airframes_of,
            tuple(
                replace(f, modes=tuple(filter(None, of)), both_stages=_acted(f) in members)
                for f, of in members.items()
                if not (f.after_crew and replace(f, after_crew=False) in members)
            ),
        )
        for (key, airframes_of), members in modes.items()
    ]


def _acted(failures: FailuresOf) -> FailuresOf | None:
    """The same once the crew has acted; None where that is the stage already."""
    return None if failures.after_crew else replace(failures, after_crew=True)
