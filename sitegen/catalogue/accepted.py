"""Advice that the author has accepted: known, shown with its reason, no longer counted."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import replace

from sitegen.catalogue.findings import Finding, Place, advice
from sitegen.catalogue.merge import LIST_SECTIONS, TABLE_SECTIONS
from sitegen.catalogue.model import Catalogue, Feeder
from sitegen.catalogue.read import ReadResult
from sitegen.words import quoted


def split_accepted(
    reading: ReadResult, found: Sequence[Finding]
) -> tuple[list[Finding], list[tuple[Finding, str]]]:
    """The advice that counts, and the accepted advice with the author's reasons.

    Parameters
    ----------
    reading : a catalogue without errors.
    found : all advice on it.
    """
    catalogue = reading.catalogue
    assert catalogue is not None
    records = _records(reading, catalogue)
    reasons = {(a.rule, a.at): a.reason for a in catalogue.accepted}
    used: set[tuple[str, str]] = set()
    counted: list[Finding] = []
    accepted: list[tuple[Finding, str]] = []
    for finding in found:
        names = (_record_at(records, finding.place), finding.place.file)
        key = next((k for k in ((finding.rule, name) for name in names) if k in reasons), None)
        if key:
            used.add(key)
            accepted.append((finding, reasons[key]))
        else:
            counted.append(finding)
    for i, one in enumerate(catalogue.accepted):
        if (one.rule, one.at) not in used:
            message = f"accepted advice number {i + 1}: {quoted(one.rule)} says nothing"
            unused = advice(
                reading.locations.at("accepted", i),
                f"{message} at {quoted(one.at)} now.",
                "Delete it, or fix `at`: the id of the record, or the name of the file.",
            )
            counted.append(replace(unused, rule="accepted-unused"))
    return sorted(counted, key=lambda finding: finding.place), accepted


def _records(reading: ReadResult, catalogue: Catalogue) -> dict[str, list[tuple[Place, str]]]:
    """By file: where each record begins, and what `accepted` calls it."""
    records: dict[str, list[tuple[Place, str]]] = {}

    def add(place: Place, name: str) -> None:
        records.setdefault(place.file, []).append((place, name))

    for section in TABLE_SECTIONS:
        if section.replace("-", "_") in catalogue.model_fields_set:
            add(reading.locations.key_at(section), section)
    for section in LIST_SECTIONS:
        for i, record in enumerate(getattr(catalogue, section.replace("-", "_"))):
            feeder = f"{record.from_} to {record.to}" if isinstance(record, Feeder) else ""
            name = feeder or getattr(record, "id", section)
            add(reading.locations.at(section, i), name)
    for of_file in records.values():
        of_file.sort()
    return records


def _record_at(records: dict[str, list[tuple[Place, str]]], place: Place) -> str:
    """The name of the record that a place is in: the last that begins before it."""
    of_file = records.get(place.file, [])
    index = bisect_right(of_file, place, key=lambda record: record[0])
    return of_file[index - 1][1] if index else ""
