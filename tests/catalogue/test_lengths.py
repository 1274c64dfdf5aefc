"""What an author may write for the length and the gauge of a conductor, and what a slip is told."""

from __future__ import annotations

import pytest

from sitegen.catalogue.model import Catalogue
from tests.catalogue.catalogue_sample import SAMPLE, findings_of, only_finding, read_texts, spoilt

SUPPLY = "supplies: [{bus: main, breaker: {name: AP,"


def supply(wiring: str) -> tuple[str, str]:
    """The autopilot's supply with more fields."""
    return SUPPLY, SUPPLY.replace("bus: main,", f"bus: main, {wiring},")


def read(wiring: str) -> Catalogue:
    catalogue = read_texts({"all.yaml": spoilt(supply(wiring))}).catalogue
    assert catalogue is not None
    return catalogue


@pytest.mark.parametrize(
    ("written", "gauge"), [("20", 20), ("0", 0), ('"00"', -1), ('"000"', -2), ('"0000"', -3)]
)
def test_a_gauge_is_a_number_and_beyond_nought_noughts_in_quotes(written: str, gauge: int) -> None:
    [pilot] = [e for e in read(f"wire: {written}").equipment if e.id == "pilot"]
    assert pilot.supplies[0].wire == gauge
    assert str(pilot.supplies[0].model_dump()["wire"]) == written.strip('"')


@pytest.mark.parametrize("length", ["{feet: 12}", "{metres: 4}", "{feet: 12.5}"])
@pytest.mark.parametrize("gauge", ["24", "10", '"0000"'])
def test_a_length_in_either_unit_with_a_gauge_of_the_table_is_without_fault(
    length: str, gauge: str
) -> None:
    assert not findings_of(supply(f"wire: {gauge}, length: {length}"))


@pytest.mark.parametrize(
    ("wiring", "kind", "message", "hint"),
    [
        (
            "wire: 20, length: ¤{feet: 3, metres: 1}",
            "error",
            "`length` must have one of feet and metres.",
            "",
        ),
        ("wire: 20, length: ¤{}", "error", "`length` must have one of feet and metres.", ""),
        (
            "wire: 20, length: ¤4",
            "error",
            "`length` must be fields with values, not the number `4`.",
            "Write {feet: 4} or {metres: 4}.",
        ),
        ("wire: 20, length: {feet: ¤-1}", "error", "`feet` must be more than 0, not `-1`.", ""),
        ("wire: 20, length: {feet: ¤0}", "error", "`feet` must be more than 0, not `0`.", ""),
        (
            "wire: 20, length: {¤yards: 3}",
            "error",
            "`yards` is no field of a length.",
            "Its fields are feet and metres.",
        ),
        (
            'wire: ¤"2/0"',
            "error",
            '`wire` must be a whole number from 0 to 30, or "00", "000" or "0000", not `2/0`.',
            "",
        ),
        ("wire: ¤-2", "error", "`wire` must be from 0 to 30, not `-2`.", ""),
        ("wire: ¤31", "error", "`wire` must be from 0 to 30, not `31`.", ""),
        ("wire: ¤2.5", "error", "`wire` must be a whole number, not `2.5`.", ""),
        (
            "¤length: {feet: 3}",
            "advice",
            "a `length` without `wire`, so no voltage drop follows from it.",
            "Write the gauge: `wire: 20`.",
        ),
        (
            "wire: ¤3, length: {feet: 3}",
            "advice",
            "AC 43.13-1B, Table 11-9, has no gauge 3, so its voltage drop is not known.",
            "Check the gauge: the table has 2 and 4.",
        ),
        (
            "wire: 20, length: {metres: ¤500}",
            "advice",
            "500 metres is an unusual figure for `metres`.",
            "Look at the decimal point and the unit.",
        ),
    ],
)
def test_a_slip_in_a_length_or_gauge_gets_one_finding_with_the_likely_fix(
    wiring: str, kind: str, message: str, hint: str
) -> None:
    finding = only_finding(supply(wiring))
    assert (finding.kind, finding.message, finding.hint) == (
        kind,
        f"equipment pilot: {message}",
        hint,
    )


def test_noughts_without_quotes_are_told_to_be_quoted() -> None:
    finding = only_finding(supply("wire: ¤00"))
    assert '"00" in quotes' in finding.hint


def test_a_gauge_that_no_length_goes_with_needs_not_be_in_the_table() -> None:
    assert not findings_of(supply("wire: 3"))


@pytest.mark.parametrize("section", ["feeder", "source"])
def test_a_length_without_a_gauge_is_found_in_feeders_and_in_inputs_of_converters(
    section: str,
) -> None:
    old = "fed-from: {bus: main," if section == "source" else "{from: main, to: essential,"
    assert old in SAMPLE
    finding = only_finding((old, f"{old} ¤length: {{feet: 3}},"))
    assert finding.message.startswith(section)
    assert "without `wire`" in finding.message


def test_an_inverter_has_no_ohms_of_its_own() -> None:
    finding = only_finding(("kind: converter,", "kind: converter, ¤internal-ohms: 0.01,"))
    assert "`internal-ohms` has no effect" in finding.message
