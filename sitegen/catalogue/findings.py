"""What checking a catalogue finds: errors and advice as plain values, each with its place."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal


@dataclass(frozen=True, order=True)
class Place:
    """Where a value is in the catalogue's files; line and column count from 1."""

    file: str
    line: int = 1
    column: int = 1

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


@dataclass(frozen=True)
class Finding:
    """One thing to fix (`error`) or to think about (`advice`)."""

    kind: Literal["error", "advice"]
    place: Place
    message: str
    """What is wrong, in one sentence."""
    hint: str = ""
    """The likely fix, in one sentence."""
    rule: str = ""
    """The code of what found it (`catalogue/rule_codes.py`)."""

    def __str__(self) -> str:
        text = f"{self.place}: {self.message}"
        return f"{text} {self.hint}" if self.hint else text


def with_rule(rule: str, findings: Iterable[Finding]) -> list[Finding]:
    """Findings with a rule's code; those that have one keep it."""
    return [f if f.rule else replace(f, rule=rule) for f in findings]


def error(place: Place, message: str, hint: str = "") -> Finding:
    """A finding that must be fixed."""
    return Finding("error", place, message, hint)


def advice(place: Place, message: str, hint: str = "") -> Finding:
    """A finding to think about."""
    return Finding("advice", place, message, hint)
