"""What the abbreviations on placards mean: one word each, once, and used in some name."""

from __future__ import annotations

import pytest

from tests.catalogue.catalogue_sample import SAMPLE, findings_of, read_texts

END = SAMPLE.splitlines(keepends=True)[-1]


def found(*lines: str) -> list[str]:
    added = "abbreviations:\n" + "".join(f"  {line}\n" for line in lines)
    return [f"{f.kind}: {f.message}" for f in findings_of((END, END + added))]


def test_an_abbreviation_is_read_with_all_its_meanings() -> None:
    text = SAMPLE + "abbreviations: {main: 'principal, chief'}\n"
    reading = read_texts({"all.yaml": text})
    assert reading.findings == ()
    assert reading.catalogue is not None
    assert reading.catalogue.abbreviations == {"main": "principal, chief"}


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        (['"main bus": principal'], "`main bus` is not one word"),
        (["main: Main"], "stands for `Main`, which says no more"),
        (["main: principal", "Main: chief"], "`Main` and `main` are the same to the search"),
        (["main: 4"], "must be text"),
    ],
    ids=["two words", "itself", "twice", "a number"],
)
def test_an_abbreviation_that_cannot_be_meant_is_an_error(lines: list[str], says: str) -> None:
    (message,) = found(*lines)
    assert message.startswith("error: ")
    assert says in message


def test_an_abbreviation_of_nothing_is_advice() -> None:
    assert found("XYZ: exyzed") == [
        "advice: abbreviations: no name has `XYZ` in it, or what it stands for."
    ]


def test_what_readers_type_for_a_name_in_full_is_an_abbreviation_too() -> None:
    """It is on no placard, and the name has all words of what it stands for, in some order."""
    assert found("MB: bus main") == []
    assert found("MB: bus principal") != []
