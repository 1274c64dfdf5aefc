"""Findings as editors and build servers read them: GitHub's workflow commands, and SARIF 2.1.0."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any
from urllib.parse import quote

from sitegen.catalogue.findings import Finding
from sitegen.catalogue.rule_codes import rule_codes

SARIF_SCHEMA = "https://json.schemastore.org/sarif-2.1.0.json"

File = Callable[[Finding], str]
"""A finding's file, relative to the folder from which the command was called."""
End = Callable[[Finding], int]
"""The column after a finding's last character."""


def github_lines(findings: Sequence[Finding], file: File, end: End) -> list[str]:
    """A line for each: GitHub Docs, Workflow commands for GitHub Actions (from memory)."""
    lines = []
    for finding in findings:
        place = finding.place
        level = "error" if finding.kind == "error" else "warning"
        properties = {
            "file": file(finding),
            "line": place.line,
            "col": place.column,
            "endColumn": end(finding),
            "title": finding.rule,
        }
        written = ",".join(f"{k}={_escaped(str(v), ':,')}" for k, v in properties.items())
        lines.append(f"::{level} {written}::{_escaped(_text(finding))}")
    return lines


def _escaped(text: str, also: str = "") -> str:
    for character in f"%\r\n{also}":
        text = text.replace(character, f"%{ord(character):02X}")
    return text


def _text(finding: Finding) -> str:
    return f"{finding.message} {finding.hint}".strip()


def sarif(
    findings: Sequence[Finding],
    accepted: Sequence[tuple[Finding, str]],
    version: str,
    file: File,
    end: End,
) -> dict[str, Any]:
    """One run in the Static Analysis Results Interchange Format (OASIS, 2.1.0).

    Accepted advice is a suppressed result, with the author's reason.
    """
    every = [*((f, None) for f in findings), *accepted]
    codes = sorted({finding.rule for finding, _ in every})
    sentences = rule_codes()
    return {
        "$schema": SARIF_SCHEMA,
        "version": "2.1.0",
        "runs": [
            {
                "tool": {
                    "driver": {
                        "name": "sitegen",
                        "version": version,
                        "rules": [
                            {"id": code, "shortDescription": {"text": sentences[code]}}
                            for code in codes
                        ],
                    }
                },
                "columnKind": "unicodeCodePoints",
                "results": [
                    _result(finding, reason, codes.index(finding.rule), file, end)
                    for finding, reason in every
                ],
            }
        ],
    }


def _result(
    finding: Finding, reason: str | None, rule_index: int, file: File, end: End
) -> dict[str, Any]:
    place = finding.place
    region = {
        "startLine": place.line,
        "startColumn": place.column,
        "endColumn": end(finding),
    }
    result: dict[str, Any] = {
        "ruleId": finding.rule,
        "ruleIndex": rule_index,
        "level": "error" if finding.kind == "error" else "warning",
        "message": {"text": _text(finding)},
        "locations": [
            {
                "physicalLocation": {
                    "artifactLocation": {"uri": quote(file(finding))},
                    "region": region,
                }
            }
        ],
    }
    if reason is not None:
        result["suppressions"] = [{"kind": "inSource", "justification": reason}]
    return result
