"""Who has checked which line: what is read, what is listed, and which answers say so."""

from __future__ import annotations

import json

import pytest

from sitegen.catalogue.lines import lines
from sitegen.catalogue.read import ReadResult
from tests.catalogue.catalogue_sample import SAMPLE, only_finding, read_texts, run, spoilt

BY = "checked: {by: M. Kerr, on: 2026-11-20, against: Chart 1}"
GEN, GEN_CHECKED = "amps: 200}", f"amps: 200, {BY}}}"
ANSWERS = (("drop", "main"), ("trace", "pilot"), ("loads",), ("troubleshoot",), ("differences",))
ATT = "    ata: 34-21\n    supplies: [{bus: essential"


def unchecked(reading: ReadResult, airframe: str | None = None) -> set[str]:
    assert reading.catalogue is not None, [str(f) for f in reading.errors]
    return {line.name for line in lines(reading.catalogue, airframe) if line.checked is None}


def read_text(text: str) -> ReadResult:
    return read_texts({"heron.yaml": text})


def test_every_record_supply_and_breaker_in_place_may_say_who_checked_it() -> None:
    everywhere = spoilt(
        ("{id: early, name: Serials 1 to 9}", f"{{id: early, name: Serials 1 to 9, {BY}}}"),
        (GEN, GEN_CHECKED),
        ("{id: main, name: Main bus}", f"{{id: main, name: Main bus, {BY}, reference: Chart 2}}"),
        ("{from: bat, to: main, through: [k-bat]}", f"{{from: bat, to: main, {BY}}}"),
        ("name: ATT 1, amps: 5, panel", f"name: ATT 1, reference: Panel, {BY}, amps: 5, panel"),
        ("name: ATT 2, amps: 1, panel: wall, at: B2}", f"name: ATT 2, amps: 1}}, {BY}"),
        ("{id: cruise, name: Cruise}", f"{{id: cruise, name: Cruise, {BY}}}"),
        ('revision: "2"', f'revision: "2", reference: Book, {BY}'),
    )
    reading = read_text(everywhere)
    assert not reading.errors, [str(f) for f in reading.errors]
    assert reading.catalogue is not None
    checked = reading.catalogue.sources[0].checked
    assert checked is not None
    assert (checked.by, checked.on.isoformat(), checked.against) == (
        "M. Kerr",
        "2026-11-20",
        "Chart 1",
    )


@pytest.mark.parametrize(
    ("written", "message", "hint"),
    [
        ("{by: MK}", "source gen: `on` is missing in its check.", ""),
        ("{by: MK, on: ¤2026-13-01}", "source gen: `on` must be a date, year-month-day like"
         " 2026-11-20, not `2026-13-01`.", ""),
        ("{by: ¤'MK, 2026-11-20', on: 2026-11-20}", "source gen: `by` must be a name alone, with"
         " the date under `on`, not `MK, 2026-11-20`.", ""),
        ("{by: MK, on: 2026-11-20, ¤against it: x}", "source gen: `against it` is no field of a"
         " check.", "Did you mean `against`?"),
        ("¤2026-11-20", "source gen: `checked` must be fields with values, not `2026-11-20`.",
         "Write {by: name, on: 2026-11-20, against: document}."),
        ("¤MK", "source gen: `checked` must be fields with values, not `MK`.",
         "Write {by: name, on: 2026-11-20, against: document}."),
    ],
)  # fmt: skip
def test_a_check_that_does_not_say_who_and_when_is_one_message(
    written: str, message: str, hint: str
) -> None:
    mark = "" if "¤" in written else "¤"
    old = "{id: gen, name: Generator, kind: generator, volts: 28.5, amps: 200}"
    check = f"{old[:-1]}, checked: {mark}{written}}}"
    found = only_finding((old, check))
    assert (found.message, found.hint) == (message, hint)


def test_a_check_of_an_item_covers_its_supplies_and_of_a_supply_its_breaker() -> None:
    assert "Attitude 1, from Essential bus" in unchecked(read_text(SAMPLE))
    item = read_text(spoilt((ATT, f"    {BY}\n{ATT}")))
    assert not {"Attitude 1", "Attitude 1, from Essential bus"} & unchecked(item)
    supply = read_text(spoilt((ATT, ATT.replace("{bus", f"{{{BY}, bus"))))
    assert "Attitude 1" in unchecked(supply)
    assert "Attitude 1, from Essential bus" not in unchecked(supply)


def test_a_breaker_that_was_checked_by_itself_is_not_asked_for_again() -> None:
    text = spoilt(("name: ATT 1, amps: 5, panel", f"name: ATT 1, amps: 5, {BY}, panel"))
    catalogue = read_text(text).catalogue
    assert catalogue is not None
    facts = {line.name: line.facts for line in lines(catalogue)}
    assert facts["Attitude 1, from Essential bus"] == "breaker ATT 1: checked by itself"
    assert facts["Attitude 2, from AC bus"] == "breaker ATT 2, 1 A, Side wall B2"


def test_lines_are_in_the_order_of_a_wiring_chart_along_the_power() -> None:
    catalogue = read_text(SAMPLE).catalogue
    assert catalogue is not None
    named = [(line.title, line.name) for line in lines(catalogue)]
    titles = list(dict.fromkeys(title for title, _ in named))
    assert titles[:6] == [
        "Airframes",
        "Sources",
        "Buses",
        "Feeders",
        "Breakers, links and contactors",
        "Items, bus by bus",
    ]
    names = [name for _, name in named]
    in_order = ["Generator", "Battery", "Inverter", "Main bus", "Essential bus", "AC bus"]
    assert [n for n in names if n in in_order] == in_order
    item = names.index("Attitude 1")
    assert names[item + 1] == "Attitude 1, from Essential bus"
    assert names.index("Autopilot") < item < names.index("Attitude 2")


def test_inspect_lists_what_is_not_checked_with_file_and_line() -> None:
    result = run(spoilt((GEN, GEN_CHECKED)), "inspect", "--unchecked")
    assert result.exit_code == 0
    assert "heron.yaml:7:" not in result.output
    assert "  heron.yaml:8: Battery: battery, 24 V DC, 30 Ah\n" in result.output
    count = len(unchecked(read_text(spoilt((GEN, GEN_CHECKED)))))
    assert result.output.endswith(f"{count} lines of {count + 1} not checked.\n")
    answer = json.loads(run(spoilt((GEN, GEN_CHECKED)), "inspect", "--unchecked", "--json").output)
    assert answer["lines"] == count + 1 == len(answer["unchecked"]) + 1
    assert answer["unchecked"][2]["name"] == "Battery"
    assert (answer["unchecked"][2]["file"], answer["unchecked"][2]["line"]) == ("heron.yaml", 8)


def test_without_any_check_no_answer_speaks_of_checks() -> None:
    for command in ANSWERS:
        assert "checked" not in run(SAMPLE, *command).output


def test_an_answer_says_how_many_of_the_lines_it_depends_on_are_not_checked() -> None:
    text = spoilt((GEN, GEN_CHECKED))
    for command in ANSWERS:
        assert "lines of the catalogue that this depends on are not checked" in (
            run(text, *command).output
        )
        answer = json.loads(run(text, *command, "--json").output)
        assert answer["unchecked"]["lines"] == answer["unchecked"]["not_checked"] + 1


def test_an_answer_depends_on_what_feeds_what_it_names_and_not_on_the_rest() -> None:
    def counted(*command: str) -> dict[str, int]:
        text = spoilt((GEN, GEN_CHECKED))
        return json.loads(run(text, *command, "--json").output)["unchecked"]  # type: ignore[no-any-return]

    pilot, attitude = counted("trace", "pilot"), counted("trace", "att-2")
    every = counted("loads")
    # The autopilot requires one of the two attitudes, so what feeds these counts too.
    assert attitude["lines"] < pilot["lines"] < every["lines"]
    # Attitude 2 and its supply; AC bus, inverter, its breaker, main bus, generator, battery; both
    # contactors and both switches; three feeders; the airframe and its condition.
    assert attitude["lines"] == 2 + 6 + 4 + 3 + 2
