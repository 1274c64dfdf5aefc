"""Serial numbers lead to one airframe."""

from __future__ import annotations

from pathlib import Path

import pytest

from sitegen.catalogue.read import read

CATALOGUE = """\
format: 1
aircraft: {{name: Plover, revision: "1", revised: 2026-01-01, statement: Invented.}}
airframes:
  - {{id: early, name: Early, serials: "{early}"}}
  - {{id: late, name: Late, serials: "{late}"}}
conditions: [{{id: flight, name: Flight, sources: [gen]}}]
sources: [{{id: gen, name: Generator, kind: generator, current: dc, volts: 28}}]
buses: [{{id: main, name: Main bus, current: dc}}]
feeders: [{{from: gen, to: main}}]
"""


def messages(folder: Path, early: str, late: str) -> list[str]:
    path = folder / "plover.yaml"
    path.write_text(CATALOGUE.format(early=early, late=late), encoding="utf-8")
    return [str(finding) for finding in read(path).findings if "erial" in str(finding)]


def test_ranges_lists_and_an_open_end_are_read(tmp_path: Path) -> None:
    assert messages(tmp_path, "1-24, 31", "25-30, 32-") == []


@pytest.mark.parametrize(
    ("early", "late", "said"),
    [
        ("1-24", "20-58", "Serial 20 is on `Late` and `Early`"),
        ("1-", "59", "Serial 59 is on"),
        ("24-1", "25-", "ends before it begins"),
        ("1 to 24", "25-", "neither a number nor a range"),
        ("1-24,", "25-", "neither a number nor a range"),
    ],
)
def test_what_cannot_lead_to_one_airframe_is_refused_at_its_line(
    tmp_path: Path, early: str, late: str, said: str
) -> None:
    (message,) = messages(tmp_path, early, late)
    assert said in message
    assert ":4:" in message or ":5:" in message
