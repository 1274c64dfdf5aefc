"""What the pages say, for a net whose answers can be worked out by hand (`pages_sample`)."""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser
from typing import Any

import pytest

from sitegen.answers.single_failures import NOT_KNOWN, SingleFailure
from sitegen.answers.single_points import Weakness
from sitegen.output.site import build_site
from sitegen.pages.single_points_page import _by_failure
from tests.pages.pages_sample import context_of, element, reading, sample

FLIGHT, PARKED = 0, 1


@pytest.fixture(scope="module")
def published() -> dict[str, str]:
    files = build_site(reading(sample())).files
    return {p: c if isinstance(c, str) else c.decode(errors="replace") for p, c in files}


class Shown(HTMLParser):
    """What of a page a reader sees in one view: its text, element by element."""

    VOID = ("meta", "link", "input", "br", "hr", "rect", "path", "circle")

    def __init__(self, text: str, view: int) -> None:
        super().__init__()
        self.view = view
        self.words: list[str] = []
        self.open: list[bool] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in self.VOID:
            return
        classes = (dict(attrs).get("class") or "").split()
        hidden = tag in ("style", "script", "svg", "head")
        hidden = hidden or ("v" in classes and f"v{self.view}" not in classes)
        self.open.append(hidden)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        pass

    def handle_endtag(self, tag: str) -> None:
        if tag not in self.VOID:
            self.open.pop()

    def handle_data(self, data: str) -> None:
        if not any(self.open):
            self.words.append(data)


def seen(page: str, view: int) -> str:
    """The words that a reader sees in one view."""
    text = " ".join(Shown(page, view).words).replace("\u00a0", " ")
    return re.sub(r"\s+([.,:;)])", r"\1", re.sub(r"\s+", " ", text))


def test_the_left_bus_takes_its_radio_and_leaves_the_fan_on_the_right(
    published: dict[str, str],
) -> None:
    words = seen(published["early/failure-left.html"], FLIGHT)
    assert "You lose 1 item" in words
    assert "Without power: Left bus." in words
    # Folded, the chapter has its names; open, the breakers and what to do.
    assert (
        "Lost + for breakers and what to do 23 Communications Radio 2 Radio 2 RADIO 2 7.5 A"
        in words
    )
    assert "Radio 2 RADIO 2 7.5 A Pedestal B2" in words
    assert "Avionics fan Without supply from Left bus." in words
    assert "Left voltmeter 0 V was 28.5 V" in words


def test_a_failure_that_leaves_one_radio_says_which(published: dict[str, str]) -> None:
    words = seen(published["early/failure-left.html"], FLIGHT)
    assert "With one provider left Talking by radio essential only Radio 1" in words
    assert "Functions lost" not in words
    assert "Talking by radio" not in seen(published["early/failure-gen-2.html"], FLIGHT)


def test_a_source_off_line_changes_nothing(published: dict[str, str]) -> None:
    words = seen(element(published["early/failure-gen-1.html"], "answer"), PARKED)
    assert words.startswith(" Not on line")
    assert "In this condition nothing changes." in words
    assert "You lose 1 item" in seen(published["early/failure-gen-1.html"], FLIGHT)


def test_equipment_that_has_power_but_lost_what_it_depends_on_says_so(
    published: dict[str, str],
) -> None:
    words = seen(element(published["early/failure-inverter.html"], "lost"), FLIGHT)
    assert "Attitude gyro" in words
    assert "Autopilot AP 5 A Pedestal B7 Has power, but depends on Attitude gyro." in words


def test_both_generators_lost_leaves_everything_on_the_battery(published: dict[str, str]) -> None:
    page = published["early/named-failure-both.html"]
    at_once = seen(page, FLIGHT)
    assert "You lose 3 items" in at_once
    assert "Everything that still works, 4 items, is now on battery only." in at_once
    assert "Essential bus 24 V battery only" in at_once
    assert "Generator 1 contactor: opens" in at_once
    assert "Land as soon as practical." in at_once
    after = seen(page, 2 + FLIGHT)
    assert "1 item turned off, not lost" in after
    assert "3 of 7 items still work" in after


def test_a_function_whose_providers_the_crew_turns_off_is_turned_off_and_not_lost() -> None:
    catalogue = sample()
    catalogue["failures"][0]["failed"] = ["inverter"]
    catalogue["failures"][0]["then"] = {"shed": ["radio-1", "radio-2"]}
    page = dict(build_site(reading(catalogue)).files)["early/named-failure-both.html"]
    after = seen(str(page), 2 + FLIGHT)
    assert "Functions turned off Talking by radio essential" in after
    assert "Talking by radio" not in seen(str(page), FLIGHT)


def test_on_the_battery_a_generator_lost_with_the_other_changes_nothing(
    published: dict[str, str],
) -> None:
    words = seen(published["early/named-failure-both.html"], PARKED)
    assert "Not on line" in words
    assert "In this condition nothing changes." in words


def test_a_short_takes_more_than_a_dead_bus_where_no_fuse_parts_it(
    published: dict[str, str],
) -> None:
    # The battery relay is no protective device: a short on the essential bus pulls the battery
    # down, and the clock on the hot bus with it.
    page = published["early/failure-essential.html"]
    dead, shorted = seen(page, FLIGHT), seen(page, 2 + FLIGHT)
    assert "You lose 3 items" in dead
    assert "You lose 4 items" in shorted
    assert "Clock" in seen(element(page, "lost"), 2 + FLIGHT)
    assert "Clock" not in seen(element(page, "lost"), FLIGHT)


def test_a_contactor_already_open_is_said_to_be_so(published: dict[str, str]) -> None:
    words = seen(element(published["early/failure-k-1.html"], "answer"), PARKED)
    assert words.startswith(" Already open")
    assert "In this condition nothing changes." in words


def test_a_device_page_says_where_it_is_and_what_closes_it(published: dict[str, str]) -> None:
    words = seen(published["early/failure-k-1.html"], FLIGHT)
    assert "Between Generator 1 and Left bus" in words
    assert "Generator 1 switch is on and Generator 1 produces" in words


def test_the_button_of_each_view_says_its_answer(published: dict[str, str]) -> None:
    page = published["early/failure-left.html"]
    buttons = re.findall(r'<label for="view-(\d)"><span>(.*?)</span><small>(.*?)</small>', page)
    assert buttons == [
        # The conditions, for each mode of failure.
        ("0", "Flight", "1 lost"),
        ("1", "Parked on battery", "already dead"),
        ("2", "Flight", "1 lost"),
        ("3", "Parked on battery", "already dead"),
        # The modes, for each condition.
        ("0", "Dead", "1 lost"),
        ("2", "Shorted", "1 lost"),
        ("1", "Dead", "already dead"),
        ("3", "Shorted", "already dead"),
    ]
    # A reader sees one group of each: the chosen mode's conditions, the chosen condition's modes.
    labels = re.sub(r"<label[^>]*>", "<label>* ", page)
    assert (
        seen(labels, 2 * 1 + PARKED).count("* Flight 1 lost * Parked on battery already dead") == 1
    )
    assert seen(labels, 2 * 1 + PARKED).count("* Dead already dead * Shorted already dead") == 1
    assert "* Dead 1 lost" not in seen(labels, 2 * 1 + PARKED)
    assert page.count(" checked>") == 1


def test_a_bus_page_answers_at_once(published: dict[str, str]) -> None:
    words = seen(published["early/bus-essential.html"], FLIGHT)
    assert "Flight 27.8 V from Generator 1, Generator 2; Battery in reserve" in words
    assert "Parked on battery 24 V, battery only from Battery" in words
    assert "3 items lost which, and what is left" in words
    assert "Radio 1 RADIO 1 7.5 A Pedestal B1" in words
    assert "Can be fed by Left bus through ESS FEED L 50 A (Pedestal A1), Left diode" in words
    assert "Can feed Inverter through INV 15 A (Pedestal A3)" in words


def test_a_bus_page_says_what_else_feeds_an_item(published: dict[str, str]) -> None:
    words = seen(published["early/bus-left.html"], FLIGHT)
    assert "Avionics fan FAN L 5 A Pedestal B4 also fed from Right bus" in words
    assert "Left voltmeter (voltmeter) 28.5 V" in words


def test_the_audit_says_first_how_many_single_failures_take_a_function_and_which_most(
    published: dict[str, str],
) -> None:
    flight, parked = (seen(published["early/audit.html"], view) for view in (FLIGHT, PARKED))
    assert "audit No single failure takes an essential function Single failures," in flight
    # Battery lost or shorted, bus dead or shorted, relay open, breaker open.
    assert "audit 6 single failures take an essential function Single failures," in parked


def test_the_audit_says_first_which_single_failures_take_most_functions() -> None:
    catalogue = sample()
    catalogue["functions"].append(
        {"id": "steer", "name": "Steering", "essential": True, "provided-by": ["autopilot"]}
    )
    files = dict(build_site(reading(catalogue)).files)
    words = seen(str(files["early/audit.html"]), PARKED)
    worst = (
        "Worst: Battery lost or shorted, Essential bus dead or shorted, Battery relay open: 2 of 2"
    )
    # These three, two of them in two modes, are five; the inverter and the AC bus in two modes each
    # are four; the breakers of the inverter, the gyro, the autopilot and the radio are four.
    assert f"13 single failures take an essential function {worst} Single" in words
    words = seen(str(files["early/audit.html"]), FLIGHT)
    assert "10 single failures take an essential function Single" in words


def test_an_item_fed_twice_has_no_single_failure_that_takes_it(published: dict[str, str]) -> None:
    words = seen(published["early/equipment-fan.html"], FLIGHT)
    assert "2 supplies. Any one is enough." in words
    none = "What alone can take it No single failure takes it in this condition."
    assert none in words
    # Parked, it has no power to lose.
    assert none in seen(published["early/equipment-fan.html"], PARKED)
    assert "If it opens, this still works." in words


def test_an_item_names_each_single_failure_that_takes_it_and_what_else_goes(
    published: dict[str, str],
) -> None:
    alone = element(published["early/equipment-gyro.html"], "alone")
    for condition in (FLIGHT, PARKED):
        words = seen(alone, condition)
        assert "AC bus dead or shorted Also lost: Autopilot." in words
        assert "Breaker GYRO open Also lost: Autopilot." in words
        assert "No single failure" not in words
    # In flight the generators hold the essential bus without it.
    assert "Battery lost Also lost: Autopilot, Clock, Radio 1." in seen(alone, PARKED)
    assert "Battery lost" not in seen(alone, FLIGHT)


def test_an_item_says_what_depends_on_it(published: dict[str, str]) -> None:
    assert "Needed by Autopilot" in seen(published["early/equipment-gyro.html"], FLIGHT)
    assert "Depends on Attitude gyro" in seen(published["early/equipment-autopilot.html"], FLIGHT)


def in_find_index(published: dict[str, str]) -> dict[str, Any]:
    script = published["early/search.js"]
    found: dict[str, Any] = json.loads(script.removeprefix("var findable = ").removesuffix(";\n"))
    for row in found["rows"]:
        row[3] = row[3].replace("*", row[4].split(" ")[0])
    return found


def test_a_breaker_is_found_by_its_placard_and_its_place(published: dict[str, str]) -> None:
    rows = in_find_index(published)["rows"]
    by_name = {row[0]: row for row in rows}
    assert by_name["RADIO 2"][1:4] == [
        "Breaker",
        "7.5\u00a0A, Pedestal B2, on Left bus, for Radio 2",
        "panel-pedestal.html#at-radio-2.breaker",
    ]
    assert by_name["WARN"][3] == "panel-pedestal.html#at-gen-1-lamp.breaker"
    assert by_name["ESS FEED L"][3] == "failure-cb-left.html"


def test_the_list_a_to_z_holds_all_that_the_finder_finds(published: dict[str, str]) -> None:
    rows = in_find_index(published)["rows"]
    words = seen(published["early/a-to-z.html"], 0)
    # What is not about one thing alone is on the front page.
    front = seen(published["early/index.html"], 0)
    assert len(rows) > 30
    for row in rows:
        assert row[0] in (front if row[1] == "Page" else words)


def test_the_front_page_leads_to_the_lists_of_every_failure_and_bus(
    published: dict[str, str],
) -> None:
    front = published["early/index.html"]
    failures, buses = published["early/failures.html"], published["early/buses.html"]
    assert 'href="failures.html"' in front
    assert 'href="buses.html"' in front
    for component in ("gen-1", "inverter", "left", "ac", "k-1", "cb-left", "d-right", "f-hot"):
        assert f'href="failure-{component}.html"' in failures
    assert 'href="named-failure-both.html"' in failures
    for bus in ("left", "right", "hot", "essential", "ac"):
        assert f'href="bus-{bus}.html"' in buses
    assert "Left bus 28.5 V" in seen(buses, FLIGHT)
    assert "Left bus dead" in seen(buses, PARKED)
    for name in ("functions", "panels", "paper", "conditions", "a-to-z", "audit"):
        assert f'href="{name}.html"' in front


def test_an_instruction_in_markdown_reads_as_one(published: dict[str, str]) -> None:
    assert "Use <strong>Radio 2</strong>." in published["early/equipment-radio-1.html"]


def test_a_text_that_counts_on_something_says_where_that_is_lost_too() -> None:
    catalogue = sample()
    catalogue["equipment"][0]["on-loss"] = "Use [Radio 2](radio-2), then [the lamp](late-lamp)."
    everything = ["gen-1", "gen-2", "battery"]
    catalogue["failures"].append({"id": "dark", "name": "Dark", "failed": everything})
    files = dict(build_site(reading(catalogue, {"talk": "# Talk\n\n[Radio](radio-1)"})).files)
    alone = str(files["early/failure-essential.html"])
    assert '<a href="equipment-radio-2.html">Radio 2</a>' in alone
    # The lamp is not fitted to the early airframes: it is named, and leads nowhere.
    assert "<a>the lamp</a>" in alone
    for words in ("Not working either", "Not on before"):
        assert words not in seen(alone, FLIGHT)
    # Parked on the battery the left bus is dead before anything fails, and radio 2 with it.
    assert "Not on before: Radio 2." in seen(alone, PARKED)
    dark = str(files["early/named-failure-dark.html"])
    assert "Not working either: Radio 2." in seen(dark, FLIGHT)
    assert '<a href="equipment-radio-1.html">Radio</a>' in str(files["early/note-talk.html"])
    assert '<a href="equipment-late-lamp.html">the lamp</a>' in str(
        files["late/equipment-radio-1.html"]
    )


def test_a_bus_lists_every_path_for_power_and_its_items_lead_there(
    published: dict[str, str],
) -> None:
    item = published["early/equipment-radio-1.html"]
    assert '<a href="bus-essential.html#paths">Every path for power to Essential bus</a>: 3' in item
    page = published["early/bus-essential.html"]
    parked = seen(page, PARKED).split("Every path for power to it", 1)[1]
    assert parked.startswith(": 3 ")
    left = "Generator 1 → Generator 1 contactor → Left bus → ESS FEED L → Left diode"
    assert left in parked.replace(" live ", " ")
    assert "Battery → Battery relay → Essential bus Live in: Flight, Parked on battery" in parked
    # With the condition chosen, what is live in it is marked.
    assert parked.count(" live ") == 1
    flight = seen(page, FLIGHT).split("Every path", 1)[1]
    assert flight.count(" live ") == 3


def test_a_functions_page_has_its_failure_sets_in_each_condition(
    published: dict[str, str],
) -> None:
    page = published["early/function-talking.html"]
    for view, name in ((FLIGHT, "Flight"), (PARKED, "Parked on battery")):
        assert seen(page, view).count("Taken only together") == 1
        assert f"Taken only together {name}" in seen(page, view)


def test_an_items_page_says_in_which_condition_its_sets_were_worked_out(
    published: dict[str, str],
) -> None:
    page = published["early/equipment-radio-1.html"]
    assert "Taken only together worked out in Flight" in seen(page, PARKED)


def test_items_that_the_same_failures_take_together_list_them_once() -> None:
    raw = sample()
    first = raw["equipment"][0]
    [supply] = first["supplies"]
    breaker = supply["breaker"] | {"name": "RADIO 3", "at": "B11"}
    third = {"id": "radio-3", "name": "Radio 3", "supplies": [supply | {"breaker": breaker}]}
    raw["equipment"].append(first | third)
    files = dict(build_site(reading(raw)).files)
    listed = element(str(files["early/equipment-radio-1.html"]), "together")
    assert '<a href="failure-cb-left.html">ESS FEED L</a> open' in listed
    again = element(str(files["early/equipment-radio-3.html"]), "together")
    assert 'The same as for <a href="equipment-radio-1.html#together">Radio 1</a>.' in again
    counts = re.findall(r"failures together: \d+", listed)
    assert counts
    assert re.findall(r"failures together: \d+", again) == counts
    assert "failure-" not in again
    # What is fed otherwise has a list of its own.
    assert "The same as for" not in str(files["early/equipment-fan.html"])


def test_what_reads_as_before_is_not_listed(published: dict[str, str]) -> None:
    others = "All others may read as before."
    see = seen(element(published["early/failure-gen-2.html"], "see"), FLIGHT)
    assert "Left voltmeter" not in see
    assert others not in see
    assert others in seen(element(published["early/failure-gen-1.html"], "see"), FLIGHT)


def test_of_two_modes_that_take_the_same_one_may_be_known_and_the_other_not() -> None:
    """They are two lines of the audit: what is not known says so itself."""
    context = context_of(sample(), "early")
    [function] = [f.id for f in context.answers.network.catalogue.functions if f.essential]
    weaknesses = [
        Weakness(function, (), SingleFailure(("essential", mode), ("parked",), "expected", no))
        for mode, no in (("dead", False), ("shorted", True))
    ]
    names = [str(row["name"]) for row in _by_failure(context, weaknesses)]
    assert [re.sub("<[^>]+>", "", name) for name in names] == [
        "Essential bus dead",
        f"Essential bus shorted {NOT_KNOWN}",
    ]
