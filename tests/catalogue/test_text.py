"""YAML's own traps and mistakes: each gives one message, in its exact place, with the fix."""

# Catalogue lines are quoted whole, so that they can be found again.
# ruff: noqa: E501

from __future__ import annotations

import pytest
import yaml

from sitegen.catalogue import yaml_text
from sitegen.catalogue.yaml_text import parse
from sitegen.catalogue.yaml_values import find, plain
from tests.catalogue.catalogue_sample import SAMPLE, marked, only_finding, read_texts, spoilt


def test_every_key_and_value_knows_its_line_and_column() -> None:
    root = parse("buses:\n  - {id: main,\n     name: Main bus}\n", "a.yaml").root
    assert root is not None
    name = find(root, ("buses", 0, "name"))
    assert str(name.place) == "a.yaml:3:12"
    assert str(name.key_place) == "a.yaml:3:6"
    assert str(find(root, ("buses", 0)).place) == "a.yaml:2:5"


def test_columns_count_characters_not_bytes() -> None:
    root = parse("{größe: 1, b: 2}", "a.yaml").root
    assert root is not None
    assert str(find(root, ("b",)).place) == "a.yaml:1:15"


# traps

TRAPS = [
    ('positions: ["off", "on"]}\n  - {id: bat', 'positions: [¤off, "on"]}\n  - {id: bat', "`off` without quotes is read as false.", 'Write "off" in quotes; where a true or false is meant, write false.'),
    ('gen-switch: "on", bat', "gen-switch: ¤on, bat", "`on` without quotes is read as true.", 'Write "on" in quotes; where a true or false is meant, write true.'),
    ("essential: true", "essential: ¤yes", "`yes` without quotes is read as true.", 'Write "yes" in quotes; where a true or false is meant, write true.'),
    ("name: Left strobe", "name: ¤No", "`No` without quotes is read as false.", 'Write "No" in quotes; where a true or false is meant, write false.'),
    ("name: Left strobe", "name: ¤1:30", "`1:30` without quotes is read as a number to the base of sixty.", 'Write "1:30" in quotes.'),
    ("name: Left strobe", "name: ¤12:30:15.5", "`12:30:15.5` without quotes is read as a number to the base of sixty.", 'Write "12:30:15.5" in quotes.'),
    ("ata: 22", "ata: ¤010", "`010` without quotes begins with a zero, which is read as octal.", 'Write 10 for the number, "010" in quotes for the text.'),
    ("amps: 200", "amps: ¤0200", "`0200` without quotes begins with a zero, which is read as octal.", 'Write 200 for the number, "0200" in quotes for the text.'),
    ("ata: 22", "ata: ¤08", "`08` without quotes begins with a zero, which is read as octal.", 'Write 8 for the number, "08" in quotes for the text.'),
    ("amps: 200", "amps: ¤0xC8", "`0xC8` without quotes is read as the number 200.", 'Write 200 for the number, "0xC8" in quotes for the text.'),
    ("amps: 200", "amps: ¤1_000", "`1_000` without quotes is read as the number 1000.", 'Write 1000 for the number, "1_000" in quotes for the text.'),
    ("amps: 200", "amps: ¤.inf", "`.inf` without quotes is read as infinity or as not a number.", 'Write ".inf" in quotes.'),
    ('revision: "2"', "revision: ¤2026-11-20", "`2026-11-20` without quotes is read as a date.", 'Write "2026-11-20" in quotes.'),
    ("name: Left strobe", "name: ¤~", "`~` without quotes is read as nothing.", 'Write "~" in quotes if this text is meant, or delete the line.'),
    ("name: Left strobe", "name: ¤null", "`null` without quotes is read as nothing.", 'Write "null" in quotes if this text is meant, or delete the line.'),
    ("name: Left strobe", "¤name:", "`name` has no value.", "Write the value, or delete the line."),
    ("name: Left strobe", "name: Left strobe\n    ¤on-loss:", "`on-loss` has no value.", "Write the value, or delete the line."),
    ("volts: 28.5", "volts: 28,¤5", "`volts: 28,5` is read as two fields.", "Write a decimal point: 28.5"),
    ("name: Cruise, sources", "name: Cruise, ¤one generator, sources", "`one generator` has no value. In braces a comma ends the value before it.", "Put a text that holds a comma in quotes, or write the value."),
    ("amps: {cruise: 1.5, approach: 1.5}", "amps: {cruise: 1.5, approach: 1.5, ¤7: 2}", "The field's name `7` is read as no word.", 'Write "7" in quotes.'),
    ("name: Left strobe", "name: Left strobe\n    ¤on: 5", "`on` without quotes is read as true.", 'Write "on" in quotes.'),
    ("name: Left strobe", "name: Left strobe\n    ¤name: Other", "`name` is defined twice; first in line 52.", "Delete one of the two."),
    ("name: Left strobe", "name: ¤!!str Left strobe", "The tag `tag:yaml.org,2002:str` has no meaning in a catalogue.", "Delete it; put a text that begins with `!` in quotes."),
    ("name: Left strobe", "name: ¤!pilot Left strobe", "The tag `!pilot` has no meaning in a catalogue.", "Delete it; put a text that begins with `!` in quotes."),
    ("name: Left strobe", "name: ¤*left", "`*left` repeats a value that no `&left` above has named.", "Put a text that begins with `*` in quotes."),
    ("name: Left strobe", "name: Left strobe\n    ¤{a: 1}: 2", "A field's name must be a word.", "Put a text that begins with `[`, `{` or `*` in quotes."),
    ("name: Left strobe", 'name: ¤"Left\\0strobe"', "The text `Left\\x00strobe` holds a character that cannot be printed.", "Write it without the escape."),
    ("name: Left strobe", "name: Left¤\tstrobe", "There is a tab here; YAML is indented with spaces.", "Replace each tab by spaces."),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "message", "hint"), TRAPS, ids=[t[1].split("\n")[-1] for t in TRAPS])  # fmt: skip
def test_a_trap_gives_one_message_with_the_fix(old: str, new: str, message: str, hint: str) -> None:
    finding = only_finding((old, new))
    assert (finding.kind, finding.message, finding.hint) == ("error", message, hint)


WHERE_A_POSITION_IS_WRITTEN = [
    ('Battery switch, positions: ["off", "on"]', 'Battery switch, positions: ["on", ¤{}, "off"]'),
    ('{bat-switch: "on"}', "{{bat-switch: ¤{}}}"),
    ('gen-switch: "on", bat-switch', "gen-switch: ¤{}, bat-switch"),
    ('switches: {gen-switch: "off"}', "switches: {{gen-switch: ¤{}}}"),
]


@pytest.mark.parametrize(("old", "new"), WHERE_A_POSITION_IS_WRITTEN)
@pytest.mark.parametrize("word", ["yes", "no", "On", "OFF"])
def test_a_switch_position_that_yaml_reads_as_true_or_false_gives_one_message(
    old: str, new: str, word: str
) -> None:
    finding = only_finding((old, new.format(word)))
    assert finding.message.startswith(f"`{word}` without quotes is read as ")
    assert finding.hint.startswith(f'Write "{word}" in quotes;')


@pytest.mark.parametrize(
    "word",
    ["Left main", "y", "n", "23-12-01", "1.2.3", "on-line", "10:75", "12A", "2026-13", "+", "é"],
)
def test_a_harmless_word_needs_no_quotes(word: str) -> None:
    assert not read_texts({"all.yaml": spoilt(("name: Left strobe", f"name: {word}"))}).findings


def test_a_quoted_trap_is_text() -> None:
    root = parse('["on", "010", "1:30", "2026-11-20", "", "~", \'no\']', "a.yaml").root
    assert root is not None
    assert plain(root) == ["on", "010", "1:30", "2026-11-20", "", "~", "no"]


def test_numbers_and_truth_values_are_read() -> None:
    root = parse("[0, -3, 28.5, .5, 1e3, true, False]", "a.yaml").root
    assert root is not None
    assert plain(root) == [0, -3, 28.5, 0.5, 1000.0, True, False]


def test_a_list_has_no_empty_entry() -> None:
    finding = only_finding(("name: Left strobe", "name: Left strobe\n    requires:\n      -¤\n      - att-1"))  # fmt: skip
    assert finding.message == "This entry of the list is empty."


def test_a_repeated_value_is_read_at_each_place() -> None:
    reading = read_texts(
        {
            "all.yaml": spoilt(
                ("name: Left strobe\n    ata: 33-40", "name: Left strobe\n    ata: &lights 33-40"),
                ("name: Right strobe\n    ata: 33-40", "name: Right strobe\n    ata: *lights"),
            )
        }
    )
    assert reading.catalogue is not None
    assert reading.catalogue.equipment[-1].ata == "33-40"


def test_a_merge_key_is_reported_once_and_its_fields_are_not_missed() -> None:
    finding = only_finding(
        ("  - id: strobe-left\n    name: Left strobe", "  - &strobe\n    id: strobe-left\n    name: Left strobe"),
        ("  - id: strobe-right\n    name: Right strobe\n    ata: 33-40\n    supplies: [{bus: main, breaker: cb-strobe}]\n    amps: 2",
         "  - ¤<<: *strobe\n    id: strobe-right\n    name: Right strobe"),
    )  # fmt: skip
    assert finding.message == "The merge key `<<` is not supported."


def test_a_tab_in_a_comment_does_no_harm() -> None:
    assert not read_texts({"all.yaml": f"#\ta comment\n{SAMPLE}"}).findings


def test_tabs_in_the_indentation_are_reported_once_and_the_file_is_not_guessed_at() -> None:
    text = spoilt(
        ("  - {id: main,", "¤\t- {id: main,"), ("  - {id: essential,", "\t- {id: essential,")
    )
    plain_text, places = marked(text)
    errors = read_texts({"all.yaml": plain_text}).errors
    assert [(f.place, f.message) for f in errors] == [
        (places[0], "There is a tab here (2 lines of this file); YAML is indented with spaces.")
    ]


def test_windows_line_ends_do_no_harm() -> None:
    text = spoilt(("name: Left strobe", "name: on")).replace("\n", "\r\n")
    assert [str(f.place) for f in read_texts({"all.yaml": text}).errors] == ["all.yaml:52:11"]


# mistakes of syntax

SYNTAX = [
    ("name: Left strobe", "name: Left: ¤strobe", "There is a colon where no field may begin."),
    ("amps: 0.2", "amps: ¤{cruise: 1", "This `{` is not closed, or a comma is missing after it."),
    ("through: [k-bat]", "through: ¤[k-bat", "This `[` is not closed, or a comma is missing after it."),
    ("positions: [\"off\", \"on\"]}\npanels", "positions: [\"off\", \"on\"]}\n# \npanels:\n  - {id: x, name: ¤'X}\npanels", "This quote is not closed."),
    ("name: Left strobe", 'name: ¤"Left strobe', "This quote is not closed before line 62."),
    ("name: Autopilot", "name: ¤'Autopilot\n    # Bob's", "This quote is not closed before line 47."),
    ("name: Left strobe", 'name: "Left \\¤strobe"', "This backslash begins nothing that double quotes know."),
    ("name: Left strobe", "name: ¤@left", "A value cannot begin with `@`."),
    ("name: Left strobe", "name: ¤%left", "A value cannot begin with `%`."),
    ("name: Left strobe", "name: ¤& left", "After `&` or `*` a name must follow."),
    ("name: Left strobe", "name: ¤- left", "A list's `- ` cannot begin here."),
    ("    amps: 0.2", "   ¤amps: 0.2", "This line does not line up with the list above."),
    ("    amps: 0.2", "    ¤amps", "This line is no field: it has no colon."),
    ("switches:\n", "switches:\n  x: 1\n  ¤- a\n", "This line does not line up with those above."),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "message"), SYNTAX, ids=[s[1].strip() for s in SYNTAX])
def test_a_mistake_of_syntax_is_reported_in_plain_words(old: str, new: str, message: str) -> None:
    plain_text, places = marked(spoilt((old, new)))
    errors = read_texts({"all.yaml": plain_text}).errors
    assert [f.message for f in errors] == [message]
    assert errors[0].hint
    assert errors[0].place.line == places[0].line


def test_the_places_of_unclosed_brackets_and_quotes_are_where_they_open() -> None:
    for change in (("through: [k-bat]", "through: ¤[k-bat"), ("name: Left strobe", "name: ¤'Left")):
        plain_text, places = marked(spoilt(change))
        assert [f.place for f in read_texts({"all.yaml": plain_text}).errors] == places


def test_without_the_fast_parser_the_same_is_read(monkeypatch: pytest.MonkeyPatch) -> None:
    trapped = spoilt(("name: Left strobe", "name: on"))
    fast = [read_texts({"all.yaml": text}) for text in (SAMPLE, trapped)]
    monkeypatch.setattr(yaml_text, "_loader", yaml.SafeLoader)
    slow = [read_texts({"all.yaml": text}) for text in (SAMPLE, trapped)]
    assert fast == slow


@pytest.mark.parametrize(("old", "new", "message"), SYNTAX, ids=[s[1].strip() for s in SYNTAX])
def test_without_the_fast_parser_mistakes_are_reported_as_well(
    old: str, new: str, message: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(yaml_text, "_loader", yaml.SafeLoader)
    plain_text, _ = marked(spoilt((old, new)))
    errors = read_texts({"all.yaml": plain_text}).errors
    assert len(errors) == 1
    assert errors[0].hint
    assert "This is not YAML" not in errors[0].message


INVISIBLE = [
    "\u200c",
    "\u200d\u200e",
    "\u034f",
    "\u115f",
    "\u2800",
    "\u3164 \u3164",
    "\ufe0f",
    "\U000e0101",
]
"""Joiners, marks of direction, fillers, a Braille pattern without dots, variation selectors."""


@pytest.mark.parametrize("name", INVISIBLE, ids=ascii)
@pytest.mark.parametrize("visible", ["Left strobe", "GEN lamp", "ATT 2"])
def test_a_name_without_anything_visible_is_refused(name: str, visible: str) -> None:
    finding = only_finding((f"name: {visible}", f"name: ¤{name}"))
    codes = " and ".join(f"U+{ord(c):04X}" for c in dict.fromkeys(name.replace(" ", "")))
    assert finding.kind == "error"
    assert finding.message.endswith(f"`name` has nothing visible, only {codes}.")
    assert finding.hint == "Write it again."


@pytest.mark.parametrize("name", ["می\u200cروم", "☂\ufe0f", "·", "e\u0301"])
def test_a_name_may_hold_marks_without_a_width(name: str) -> None:
    assert read_texts({"all.yaml": spoilt(("name: Left strobe", f"name: {name}"))}).findings == ()


def test_a_note_s_title_without_anything_visible_is_refused() -> None:
    reading = read_texts({"all.yaml": SAMPLE, "notes/fuel.md": "A pump.\n\n# \u200c\n"})
    (finding,) = reading.findings
    assert str(finding) == (
        "notes/fuel.md:3:3: The note's title has nothing visible, only U+200C. Write it again."
    )


def test_the_marks_of_a_merge_in_a_note_are_reported_where_they_begin() -> None:
    note = "# Fuel\n\nOne.\n<<<<<<< HEAD\nTwo.\n=======\nThree.\n>>>>>>> other\n"
    (found,) = read_texts({"all.yaml": SAMPLE, "notes/fuel.md": note}).errors
    assert (found.place.file, found.place.line) == ("notes/fuel.md", 4)
    assert "down to line 8" in found.message
    heading = note.replace("<<<<<<< HEAD\n", "").replace(">>>>>>> other\n", "")
    assert read_texts({"all.yaml": SAMPLE, "notes/fuel.md": heading}).errors == ()


def test_half_of_a_merge_s_marks_is_reported_at_each_mark() -> None:
    for mark in ("<<<<<<< HEAD", ">>>>>>> other"):
        (found,) = read_texts({"all.yaml": SAMPLE + mark + "\n"}).errors
        assert found.message == "A mark of a merge is left here.", found
        assert found.place.line == SAMPLE.count("\n") + 1


def test_an_entry_without_a_dash_after_one_with_it_is_said_to_lack_it() -> None:
    text = SAMPLE.replace(
        "  - {id: ac, name: AC bus, current: ac}", "  {id: ac, name: AC bus, current: ac}"
    )
    assert text != SAMPLE
    (found,) = read_texts({"all.yaml": text}).errors
    assert found.message == "This entry of the list has no `- ` before it."
    assert text.split("\n")[found.place.line - 1].lstrip().startswith("{id: ac")


def test_a_section_by_the_name_of_a_kind_is_led_to_its_own() -> None:
    for name, section in (
        ("lamps", "indications"),
        ("batteries", "sources"),
        ("fuse-links", "devices"),
    ):
        found = next(e for e in read_texts({"all.yaml": f"{SAMPLE}{name}: []\n"}).errors)
        assert found.hint == f"They are written in the section `{section}`."


def test_a_table_in_braces_may_go_on_in_the_next_line_and_lack_a_comma_there() -> None:
    text = SAMPLE.replace(
        "{id: ac, name: AC bus, current: ac}", "{id: ac, name: AC bus\n     current: ac}"
    )
    (found,) = read_texts({"all.yaml": text}).errors
    assert found.message == "A comma is missing before `current`."
    assert found.place.line == SAMPLE[: SAMPLE.index("{id: ac,")].count("\n") + 2


def test_a_bracket_that_is_not_closed_stays_one() -> None:
    text = SAMPLE.replace("rows: [A, B], columns: 8}", "rows: [A, B, columns: 8}")
    (found,) = read_texts({"all.yaml": text}).errors
    assert found.message == "This `[` is not closed, or a comma is missing after it."
