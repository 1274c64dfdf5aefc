"""The command `inspect`: what is wrong with a catalogue, and what nobody has checked in it."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from functools import reduce
from importlib.metadata import version
from operator import or_
from pathlib import Path
from typing import Any

import click

from sitegen.arguments import (
    NO,
    catalogue_advice,
    catalogue_errors,
    finding_json,
    print_json,
    print_lines,
    read,
    read_without_errors,
)
from sitegen.catalogue.accepted import split_accepted
from sitegen.catalogue.findings import Finding
from sitegen.catalogue.lines import CatalogueLine, lines
from sitegen.catalogue.model import Catalogue
from sitegen.catalogue.read import ReadResult
from sitegen.catalogue.token_ends import end_column
from sitegen.terminal.finding_formats import github_lines, sarif
from sitegen.words import counted

FORMATS = ("text", "json", "github", "sarif")


def report_findings(path: Path | None, form: str) -> None:
    """Print every error and all advice; end the command with `NO` if there is an error."""
    reading = read(path)
    errors = catalogue_errors(reading)
    advice = catalogue_advice(reading, errors)
    accepted: list[tuple[Finding, str]] = []
    if reading.catalogue is not None and not errors:
        advice, accepted = split_accepted(reading, advice)

    def end(finding: Finding) -> int:
        return end_column(finding.place, reading.texts)

    def file(finding: Finding) -> str:
        """The file from where the command was called; the demo's is relative to itself."""
        if path is None:
            return finding.place.file
        return (path / finding.place.file if path.is_dir() else path).as_posix()

    if form == "json":
        kinds = {"errors": errors, "advice": advice}
        report = {kind: [finding_json(f, reading) for f in fs] for kind, fs in kinds.items()}
        known = [{**finding_json(f, reading), "reason": reason} for f, reason in accepted]
        print_json({**report, "accepted": known})
    elif form == "github":
        for line in github_lines([*errors, *advice], file, end):
            click.echo(line)
    elif form == "sarif":
        print_json(sarif([*errors, *advice], accepted, version("sitegen"), file, end))
    else:
        print_lines(_report(reading, errors, advice, accepted))
    if errors:
        sys.exit(NO)


def _report(
    reading: ReadResult,
    errors: Sequence[Finding],
    advice: Sequence[Finding],
    accepted: Sequence[tuple[Finding, str]],
) -> Iterator[str]:
    for title, findings in (("Errors", errors), ("Advice", advice)):
        if findings:
            yield title
            yield from (f"  {finding} [{finding.rule}]" for finding in findings)
    if accepted:
        yield "Accepted"
        yield from (
            f"  {finding.place}: {finding.message} [{finding.rule}] Accepted: {reason}"
            for finding, reason in accepted
        )
    advice_count = counted(len(advice) or "no", "piece")
    known = f", {len(accepted)} accepted" if accepted else ""
    yield f"{counted(len(errors) or 'no', 'error')}, {advice_count} of advice{known}."
    if not errors and reading.catalogue is not None:
        yield f"Protection: {_judged(reading.catalogue)}"
    yield _what_was_read(reading)


def _judged(catalogue: Catalogue) -> str:
    """How much the rules of protection could judge, over all airframes."""
    from sitegen.answers.protection.protection_audit import judged_of
    from sitegen.catalogue.wire_chart import wire_rows
    from sitegen.solver.network import build
    from sitegen.terminal.protection_text import judged_text

    table = wire_rows()
    each = [judged_of(build(catalogue, airframe.id), table) for airframe in catalogue.airframes]
    text = judged_text(reduce(or_, each))
    return text[0].lower() + text[1:]


def _what_was_read(reading: ReadResult) -> str:
    notes = sum(name.startswith("notes/") for name in reading.texts)
    files = [counted(len(reading.texts) - notes, "file")]
    files += [counted(notes, "note")] if notes else []
    catalogue = reading.catalogue
    if catalogue is None:
        return f"Read: {' and '.join(files)}."
    sections = [getattr(catalogue, name) for name in type(catalogue).model_fields]
    records = sum(len(section) for section in sections if isinstance(section, list))
    airframes = counted(len(catalogue.airframes), "airframe")
    return f"Read: {', '.join([*files, counted(records, 'record')])}, {airframes}."


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
