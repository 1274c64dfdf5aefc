"""The command `inspect`: what is wrong with a catalogue, and what nobody has checked in it."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from sitegen.arguments import (
    NO,
    catalogue_advice,
    catalogue_errors,
    print_json,
    read,
    read_without_errors,
)
from sitegen.catalogue.findings import Finding
from sitegen.catalogue.lines import CatalogueLine, lines
from sitegen.catalogue.read import ReadResult
from sitegen.words import counted


def report_findings(path: Path | None, as_json: bool) -> None:
    """Print every error and all advice; end the command with `NO` if there is an error."""
    reading = read(path)
    errors = catalogue_errors(reading)
    advice = catalogue_advice(reading, errors)
    if as_json:
        kinds = {"errors": errors, "advice": advice}
        print_json({kind: [_finding_json(f) for f in fs] for kind, fs in kinds.items()})
    else:
        for title, findings in (("Errors", errors), ("Advice", advice)):
            if findings:
                click.echo(title)
                for finding in findings:
                    click.echo(f"  {finding}")
        advice_count = counted(len(advice) or "no", "piece")
        click.echo(f"{counted(len(errors) or 'no', 'error')}, {advice_count} of advice.")
    if errors:
        sys.exit(NO)


def _finding_json(finding: Finding) -> dict[str, Any]:
    """A finding as a plain object."""
    return {**asdict(finding.place), "message": finding.message, "hint": finding.hint}


def list_unchecked(path: Path | None, as_json: bool) -> None:
    """Print the lines of the whole fleet that nobody has checked, in a wiring chart's order."""
    reading = read_without_errors(path)
    assert reading.catalogue is not None
    every = lines(reading.catalogue)
    unchecked = [line for line in every if line.checked is None]
    if as_json:
        objects = [_line_json(reading, line) for line in unchecked]
        print_json({"lines": len(every), "unchecked": objects})
        return
    for text in _unchecked_text(reading, unchecked):
        click.echo(text)
    click.echo(f"{counted(len(unchecked) or 'no', 'line')} of {len(every)} not checked.")


def _unchecked_text(reading: ReadResult, unchecked: list[CatalogueLine]) -> Iterator[str]:
    title = ""
    for line in unchecked:
        if line.title != title:
            title = line.title
            yield title
        facts = f": {line.facts}" if line.facts else ""
        taken_from = f" [{line.reference}]" if line.reference else ""
        place = reading.locations.at(*line.path)
        yield f"  {place.file}:{place.line}: {line.name}{facts}{taken_from}"


def _line_json(reading: ReadResult, line: CatalogueLine) -> dict[str, Any]:
    return {
        **asdict(reading.locations.at(*line.path)),
        "part": line.title,
        "name": line.name,
        "facts": line.facts,
        "reference": line.reference,
    }
