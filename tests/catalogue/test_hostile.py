"""Input that means harm, or that a mishap made: one clear message, in bounded time and length."""

# Catalogue lines are quoted whole, so that they can be found again.
# ruff: noqa: E501

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

import pytest

from sitegen.catalogue import checks, merge
from sitegen.catalogue.read import ReadResult, read
from tests.catalogue.catalogue_sample import (
    SAMPLE,
    findings_of,
    marked,
    only_finding,
    read_texts,
    spoilt,
)

LONGEST_MESSAGE = 1_500
MOST_SECONDS = 10


def soon(texts: dict[str, str | bytes]) -> ReadResult:
    """Read a catalogue within the processor time that a person waits; no message fills the screen."""
    started = time.process_time()
    reading = read_texts(texts)
    assert time.process_time() - started < MOST_SECONDS
    for finding in reading.findings:
        assert len(str(finding)) < LONGEST_MESSAGE
    return reading


def lines(section: str, record: str, count: int) -> str:
    """A section of this many records; % in a record is its number."""
    return f"{section}:\n" + "".join(f"  - {record.replace('%', str(i))}\n" for i in range(count))


# thousands of the same


MANY = [
    ("equipment and indications of one id",
     lines("equipment", "{id: x, name: Y, ata: 22, supplies: [{bus: main}]}", 3000)
     + lines("indications", "{id: x, name: Y, kind: lamp}", 5000)),
    ("supplies that name one piece of equipment as their bus",
     lines("equipment", "{id: x, name: Y, ata: 22, supplies: [{bus: x}]}", 10_000)),
    ("buses that are fitted to nothing",
     lines("buses", "{id: x, name: Y, fitted-to: [never]}", 15_000)),
    ("buses of one name, half of them on each airframe",
     lines("buses", "{id: x%, name: Y, fitted-to: [early]}", 8_000)
     + lines("sources", "{id: z%, name: Y, kind: battery, volts: 24, fitted-to: [late]}", 6_000)),
    ("breakers at one place, half of them on each airframe",
     lines("devices", "{id: x%, name: Y%, kind: breaker, panel: wall, at: B8, fitted-to: [early]}", 5_000)
     + lines("indications", "{id: z%, name: Y, kind: lamp, lit-when: {live: [main]}, fitted-to: [late], supplies: [{bus: main, breaker: {name: Z, amps: 1, panel: wall, at: B8}}]}", 3_000)),
    ("switches of one id, each set to a position that it does not have",
     lines("switches", "{id: x, name: Y, positions: [a, b]}", 8_000)
     + lines("devices", "{id: k%, name: Y%, kind: relay, closes-when: {switches: {x: c}}}", 8_000)),
    ("feeders to buses of one id, AC and DC",
     lines("buses", "{id: x, name: Y, current: ac}", 5_000)
     + lines("feeders", "{from: main, to: x}", 10_000)),
    ("providers and pairs",
     "functions:\n  - {id: x, name: Y, provided-by: [" + "att-1, " * 50_000 + "att-2], independent: [" + "[att-1, att-2], " * 30_000 + "]}\n"),
    ("names that come near each of thousands",
     lines("buses", "{id: left-main-%, name: Bus %}", 10_000)
     + lines("feeders", "{from: lfet-mian-%, to: main}", 2_000)),
    ("ids with a capital letter, and names that may be meant for one",
     lines("buses", "{id: A-%, name: Bus %}", 900) + lines("feeders", "{from: a%, to: main}", 20_000)),
    ("records without fields", lines("equipment", "{}", 30_000)),
    ("fields of one name", "buses:\n  - {" + "x: 1, " * 90_000 + "}\n"),
    ("sections that are none", "".join(f"x{i}: []\n" for i in range(50_000))),
]  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize("text", [m[1] for m in MANY], ids=[m[0] for m in MANY])
def test_thousands_of_the_same_mistake_are_reported_in_bounded_time(text: str) -> None:
    reading = soon({"all.yaml": SAMPLE, "many.yaml": text})
    assert reading.errors
    assert len(reading.findings) < 500


def test_a_loop_of_requirements_is_reported_in_a_sentence_however_long_it_is() -> None:
    text = lines(
        "equipment",
        "{id: x%, name: Y%, ata: 22, amps: 1, supplies: [{bus: main}], requires: [x%n]}",
        3000,
    )
    for i in range(3000):
        text = text.replace(f"x{i}n", f"x{(i + 1) % 3000}", 1)
    (finding,) = soon({"all.yaml": SAMPLE, "many.yaml": text}).errors
    assert "x0 requires x1 requires" in finding.message
    assert "2992 more requires x0." in finding.message


def test_a_catalogue_has_no_more_airframes_and_load_columns_than_a_fleet_has() -> None:
    few, columns = checks.MOST_AIRFRAMES - 2, checks.MOST_LOAD_COLUMNS - 2
    fits = lines("airframes", "{id: a%, name: A%}", few) + lines(
        "load-columns", "{id: c%, name: C%}", columns
    )
    assert not any(
        "at most" in f.message for f in soon({"all.yaml": SAMPLE, "b.yaml": fits}).errors
    )
    more = lines("airframes", "{id: a%, name: A%}", 3000) + lines(
        "load-columns", "{id: c%, name: C%}", 3000
    )
    assert [str(f) for f in soon({"all.yaml": SAMPLE, "b.yaml": more}).errors] == [
        "b.yaml:50:5: There are 3002 airframes; 50 at most are read. Split the catalogue into several.",
        "b.yaml:3051:5: There are 3002 load columns; 50 at most are read. Split the catalogue into several.",
    ]


def test_a_section_has_no_more_records_than_are_read(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(merge, "MOST_RECORDS", 6)
    findings = soon({"all.yaml": SAMPLE, "b.yaml": lines("buses", "{id: x%, name: Y%}", 4)}).errors
    assert [str(f) for f in findings] == [
        "b.yaml:5:5: The section `buses` has more than 6 records. Split the catalogue into several.",
    ]


def test_when_one_kind_of_mistake_is_made_a_thousand_times_it_says_that_there_are_more() -> None:
    texts: dict[str, str | bytes] = {"all.yaml": SAMPLE}
    for i in range(11):
        texts[f"x{i:02d}.yaml"] = lines(
            "indications", f"{{id: x{i}-%, name: X{i}-%, kind: voltmeter, at: nowhere}}", 100
        )
    errors = soon(texts).errors
    assert len([f for f in errors if "there is no source or bus `nowhere`" in f.message]) == 1000
    assert [str(f) for f in errors if "more problems" in f.message] == [
        "x09.yaml:101:51: There are more problems of this kind from here on."
    ]


# words without end


LONG = [
    ("through: [k-bat]", f"through: {'x' * 300_000}"),
    ("volts: 28.5", f"volts: {'9' * 10_000}"),
    ("volts: 28.5", f"volts: 0x{'f' * 10_000}"),
    ("name: Left strobe", f"name: !{'x' * 10_000} y"),
    ("name: Left strobe", f"? {'x' * 10_000}\n    : Left strobe"),
    ("name: Left strobe", "name: '" + "a " * 50_000 + " '"),
    ("id: strobe-left", "id: " + "a-" * 50_000 + "!"),
    ("at: B3", f"at: '{'12a' * 60}'"),
    ("rows: [A, B]", "rows: [" + ", ".join("R" * 180 + str(i) for i in range(60)) + "]"),
    ('name: Generator switch, positions: ["off", "on"]', "name: Generator switch, positions: [" + ", ".join(f"p{i}" for i in range(30_000)) + "]"),
    ("volts: 28.5", "volts: '1" + " " * 50_000 + "!'"),
    ("format: 1", "format: [" + "1, " * 10_000 + "]"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new"), LONG, ids=[new[:20] for _, new in LONG])
def test_a_word_without_end_gives_a_message_with_an_end(old: str, new: str) -> None:
    reading = soon({"all.yaml": spoilt((old, new))})
    assert reading.errors
    assert "Node(" not in "".join(map(str, reading.findings)).replace("node(", "Node(")


def test_a_number_of_a_thousand_figures_is_no_number_in_quotes() -> None:
    finding = only_finding(("volts: 28.5", f"volts: ¤{'9' * 1000}"))
    assert finding.message.startswith("source gen: `volts` must be a number of a sensible size")
    assert not finding.hint


# characters that nobody sees, or that a terminal obeys


@pytest.mark.parametrize("code", [0xAD, 0x200B, 0x202E, 0x2066, 0xFEFF, 0xE0041])
def test_an_invisible_character_is_reported_and_the_rest_is_read(code: int) -> None:
    text, places = marked(
        spoilt(("at: B3", "at: ¤C3"), ("name: Left strobe", f"name: Left¤{chr(code)}strobe"))
    )
    errors = read_texts({"all.yaml": text}).errors
    assert [f.place for f in errors] == places
    assert errors[1].message == f"There is an invisible character here (U+{code:04X})."


def test_an_escape_for_such_a_character_is_refused_too() -> None:
    for escape in ("\\e[31m", "\\u202e", "\\x7f", "\\r", "\\N", "\\u200b"):
        finding = only_finding(("name: Left strobe", f'name: ¤"Left{escape} strobe"'))
        assert "holds a character that cannot be printed" in finding.message


@pytest.mark.parametrize("escape", ["\\ud800", "\\ud83d\\ude00", "\\UFFFFFFFF", "\\xzz"])
def test_an_escape_that_names_no_character_is_reported_in_plain_words(escape: str) -> None:
    finding = only_finding(("name: Left strobe", f'name: "{escape}"'.replace("\\", "¤\\", 1)))
    assert finding.message == "This escape names no character."


def test_characters_of_other_scripts_and_signs_do_no_harm() -> None:
    assert not findings_of(("name: Left strobe", "name: Größe 28\u00a0V, مصباح\u200f, ⚠ 灯"))


def test_a_note_holds_no_character_that_cannot_be_printed() -> None:
    for text, message in (
        ("# \x1b[31mred\n", "The file holds a character that cannot be printed (U+001B)."),
        ("# a\0b\n", "The file holds a NUL byte, so it is no text."),
        ("# a\u202eb\n", "There is an invisible character here (U+202E)."),
    ):
        errors = read_texts({"all.yaml": SAMPLE, "notes/n.md": text}).errors
        assert [f.message for f in errors] == [message]
        assert errors[0].place.line == 1
    assert not read_texts({"all.yaml": SAMPLE, "notes/n.md": "a\tb\r\n"}).findings


# what a page or a file could not be named after


def test_two_notes_of_one_name_are_not_both_written() -> None:
    errors = read_texts({"all.yaml": SAMPLE, "notes/n.MD": "x", "notes/n.md": "y"}).errors
    assert [str(f) for f in errors] == [
        "notes/n.md:1:1: The note `n` is in two files; the other is notes/n.MD. "
        "Give one of them another name."
    ]


def test_a_note_s_name_and_title_have_an_end() -> None:
    for file, text, message in (
        (f"notes/{'a' * 65}.md", "x", "The note's file name is longer than 64 characters."),
        ("notes/a.md", f"# {'x' * 201}", "The note's title is longer than 200 characters."),
    ):
        errors = read_texts({"all.yaml": SAMPLE, file: text}).errors
        assert [f.message for f in errors] == [message]


@pytest.mark.parametrize("name", ["con", "nul", "com1", "lpt9"])
def test_an_airframe_s_folder_can_be_on_any_disk(name: str) -> None:
    # Microsoft, Naming Files, Paths, and Namespaces: the reserved names.
    finding = only_finding(("{id: late,", f"{{id: ¤{name},"))
    assert finding.message.startswith(f"airframe {name}: Windows has no folder of this name")


# files and folders


@pytest.mark.skipif(sys.platform == "win32", reason="needs links")
def test_a_link_to_a_folder_is_not_passed_over_in_silence(tmp_path: Path) -> None:
    catalogue, other = tmp_path / "heron", tmp_path / "other"
    catalogue.mkdir()
    other.mkdir()
    (catalogue / "all.yaml").write_text(SAMPLE)
    (other / "more.yaml").write_text("buses: no list")
    (catalogue / "more").symlink_to(other)
    assert [str(f) for f in read(catalogue).findings] == [
        "more:1:1: This is a link to a folder, and links to folders are not followed: nothing in "
        "it is read. Copy the folder here or add --follow-links if it belongs to the catalogue; else "
        "delete the link."
    ]


def test_a_file_that_would_have_to_be_waited_for_is_a_finding(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # A kernel's log passes for a plain file, and gives None instead of bytes.
    class Nothing:
        def __enter__(self) -> Nothing:
            return self

        def __exit__(self, *_: object) -> None:
            pass

        def read(self, _: int) -> None:
            return None

    (tmp_path / "all.yaml").write_text(SAMPLE)
    monkeypatch.setattr(os, "fdopen", lambda *_, **__: Nothing())
    assert [f.message for f in read(tmp_path).errors] == ["This is not a regular file."]


@pytest.mark.parametrize(
    ("encoding", "message"),
    [
        ("utf-32", "The file is in UTF-32."),
        ("utf-16", "The file is in UTF-16."),
        ("utf-16-le", "The file is no text in UTF-8."),
        ("utf-32-be", "The file is no text in UTF-8."),
        ("cp1252", "The file is not in UTF-8 (byte F6)."),
    ],
)
def test_an_encoding_other_than_utf_8_is_reported(encoding: str, message: str) -> None:
    text = spoilt(("name: Left strobe", "name: Größe")).encode(encoding)
    errors = read_texts({"all.yaml": text}).errors
    assert [f.message for f in errors] == [message]
    assert "UTF-8" in errors[0].hint
