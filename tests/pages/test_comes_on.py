"""What a failure switches on is on every page and in the handout, beside what it takes."""

from __future__ import annotations

import re
from typing import Any

import pytest

from sitegen.answers.drop import drop
from sitegen.answers.signatures import signature_table
from sitegen.answers.single_failures import single_failures
from sitegen.output.site import build_site
from sitegen.resources import theme
from sitegen.solver.outcome import condition_states
from sitegen.terminal.headline_text import headline
from tests.nets import network
from tests.pages.pages_sample import element, reading, sample, words

SECURED = {"id": "secured", "name": "Secured", "sources": ["battery"], "switches": {}}
STUCK = {
    "id": "relay-sticks",
    "name": "The battery relay sticks",
    "failed": ["k-battery:stuck-closed"],
}


def catalogue() -> dict[str, Any]:
    """The sample with all switched off: the battery relay feeds the essential bus if it sticks."""
    changed = sample()
    changed["conditions"] = [SECURED, *changed["conditions"]]
    changed["failures"] = [STUCK, *changed["failures"]]
    [radio] = [e for e in changed["equipment"] if e["id"] == "radio-1"]
    radio["if-it-comes-on"] = "Turn it off: it drains the battery."
    radio["hazard"] = "Radiating: keep clear"
    sections = ["buses", "equipment-losses", "function-losses", "failures", "indications"]
    changed["handout"] = [{"id": "course", "name": "Course", "sections": sections}]
    return changed


@pytest.fixture(scope="module")
def pages() -> dict[str, str]:
    return {p: c for p, c in build_site(reading(catalogue())).files if isinstance(c, str)}


def part(pages: dict[str, str], section: str) -> str:
    page = pages["early/handout.html"]
    start = page.index(f'<section class="topic topic-{section}')
    return page[start : page.index("</section>", start)]


def test_a_handout_says_what_comes_on_and_never_only_that_nothing_is_lost(
    pages: dict[str, str],
) -> None:
    block = part(pages, "failures")
    block = block[block.index('id="named-failure-relay-sticks"') :]
    text = words(block[: block.index("</article>")])
    assert "Comes on. 22 Auto flight: Autopilot. 23 Communications: Radio 1 ! . 34" in text
    assert "Not available before Talking by radio essential now Radio 1" in text
    assert "Comes on: Radio 1. Turn it off: it drains the battery." in text
    assert "Radio 1, hazard: Radiating: keep clear." in text
    assert "Nothing is lost" not in text
    assert "No item is lost" in text


def test_a_page_says_what_can_hurt_someone_at_what_comes_on(pages: dict[str, str]) -> None:
    page = pages["early/named-failure-relay-sticks.html"]
    assert "Hazard: Radiating: keep clear. Turn it off" in words(element(page, "comes-on"))
    assert "! Hazards of this aircraft, with power or not Radiating (Radio 1)." in words(
        element(page, "left")
    )


def test_the_largest_words_of_a_page_are_what_comes_on_where_nothing_is_lost(
    pages: dict[str, str],
) -> None:
    page = pages["early/named-failure-relay-sticks.html"]
    assert "3 items come on" in re.findall(r'<p class="headline[^>]*>(.*?)</p>', page)
    assert "No item is lost." in words(page)


def test_the_largest_words_of_a_page_are_what_comes_live_where_nothing_else_does() -> None:
    """A ground unit's contactor that sticks puts power on its receptacle."""
    changed = sample()
    changed["sources"].append(
        {
            "id": "unit",
            "name": "Ground unit",
            "kind": "external-power",
            "volts": 28,
            "hazard": "The pins may be live: lid shut",
        }
    )
    changed["devices"].append(
        {
            "id": "k-unit",
            "name": "Unit contactor",
            "kind": "contactor",
            "closes-when": {"live": ["unit"]},
        }
    )
    changed["feeders"].append({"from": "unit", "to": "left", "through": ["k-unit"]})
    files = dict(build_site(reading(changed)).files)
    page = files["early/failure-k-unit.html"]
    heads = dict(re.findall(r'<p class="headline([^"]*)">(.*?)</p>', page))
    assert "Terminals live now: Ground unit" in heads.values()
    assert "Power now, and none before: Ground unit. Hazard, Ground unit: The pins" in words(page)


def test_what_can_hurt_someone_at_what_comes_on_is_said_right_after_the_headline(
    pages: dict[str, str],
) -> None:
    page = pages["early/named-failure-relay-sticks.html"]
    answer = page.partition('id="answer"')[2].partition("</section>")[0]
    assert answer.index("headline") < answer.index("Hazard, ") < answer.index("other-effects")


def test_a_device_that_only_switches_things_on_has_a_row_in_the_handout(
    pages: dict[str, str],
) -> None:
    table = part(pages, "failures").partition("A device opens, or sticks")[2]
    [row] = [r for r in table.split("<tr>") if "Battery relay stuck closed" in words(r)]
    assert "The same as 4.1 The battery relay sticks" in words(row)
    harmless = words(table).partition("nothing is lost, is reduced or comes on")[2]
    assert "Generator 1 contactor open or stuck closed" in harmless
    assert "Battery relay open" in harmless
    assert "Battery relay stuck closed" not in harmless


def test_the_table_of_losses_marks_what_comes_on(pages: dict[str, str]) -> None:
    table = part(pages, "equipment-losses")
    assert "+ comes on: did not work before" in words(table)
    [radio] = [r for r in table.split("<tr>") if "Radio 1" in words(r) and "<td" in r]
    assert "+" in re.findall(r"<td[^>]*>([^<]*)</td>", radio)
    assert "Items that come on 3" in words(table)


def test_what_is_off_in_the_condition_is_not_what_no_failure_takes(pages: dict[str, str]) -> None:
    text = words(part(pages, "equipment-losses"))
    assert "None of these failures takes" not in text
    off = text.partition("Off or not available in this condition already")[2]
    assert "Cabin heater" in off
    assert "Clock" not in off


def test_a_function_that_a_failure_makes_available_is_marked(pages: dict[str, str]) -> None:
    [row] = [r for r in part(pages, "function-losses").split("<tr>") if "Talking by radio" in r]
    assert "+" in re.findall(r"<td[^>]*>([^<]*)</td>", row)


def test_the_list_of_failures_marks_a_hazard_and_with_the_finder_counts_what_comes_on(
    pages: dict[str, str],
) -> None:
    assert "The battery relay sticks ! 3 come on" in words(pages["early/failures.html"])
    assert '"3 come on in Secured"' in pages["early/search.js"]


def test_a_switch_stuck_closed_that_turns_an_item_on_is_not_harmless(pages: dict[str, str]) -> None:
    # The relay's lamp of generator 1 shows it: without that lamp, no indication does.
    assert (
        "Battery relay stuck closed"
        not in words(part(pages, "indications")).partition("No indication shows these")[2]
    )
    changed = catalogue()
    changed["indications"] = changed["indications"][:1]
    files = dict(build_site(reading(changed)).files)
    page = str(files["early/which-failed.html"])
    unseen = page[page.index("No indication shows it") :]
    assert "Battery relay" in words(unseen[: unseen.index("</details>")])


LAMP_ON_A_RELAY = """
sources: {gen: 28}
buses: [main]
devices: {k: {kind: relay, closes-when: {switches: {lamp-switch: "on"}}}}
feeders: [gen > main]
equipment: {lamp: {supplies: [{bus: main, through: [k]}]}}
switches: {lamp-switch: ["off", "on"]}
"""


def test_a_relay_that_sticks_and_turns_its_item_on_changes_something() -> None:
    net = network(LAMP_ON_A_RELAY)
    table = signature_table(single_failures(net, condition_states(net)), "flight")
    assert ("k", "stuck-closed") in table.unseen["expected"]
    assert ("k", "open") in table.harmless


def test_the_list_of_what_no_indication_shows_is_not_hidden(pages: dict[str, str]) -> None:
    style = "\n".join(p.read_text(encoding="utf-8") for p in sorted(theme().glob("*.css")))
    hidden = re.findall(r"^\.([a-z-]+) ?\{[^}]*clip-path: ?inset\(50%\)", style, re.M)
    assert hidden
    for name in hidden:
        assert not re.search(
            rf'<(details|section|ul|p|div|h\d)[^>]*class="[^"]*\b{name}\b', str(pages)
        )


def test_what_comes_on_is_not_counted_among_what_still_works(pages: dict[str, str]) -> None:
    """The clock alone works with all switched off; three items more work with the relay stuck."""
    text = words(pages["early/named-failure-relay-sticks.html"])
    assert {"1 of 1 item still works"} <= set(re.findall(r"\d+ of \d+ items? still works?", text))
    for part_of, whole in re.findall(r"(\d+) of (\d+) items? still work", text):
        assert int(part_of) <= int(whole)


TAKES_OVER = """
sources: {gen: 28, bat: {kind: battery, volts: 24}}
buses: [main]
devices: {d-gen: diode, d-bat: diode}
feeders: [gen > d-gen > main, bat > d-bat > main]
equipment: {radio: main, lamp: main}
"""


def test_nothing_is_lost_is_not_said_where_the_battery_now_carries_all() -> None:
    net = network(TAKES_OVER)
    lost, normal = drop(net, "flight", [("gen", "lost")]), drop(net, "flight", [])
    assert headline(net, lost, normal) == ("2 items are now on battery only.", "No item is lost.")
    flat = drop(net, "flight", [("bat", "lost")])
    assert headline(net, flat, normal) == (
        "No battery left to take over: main.",
        "No item is lost.",
    )


def test_a_failure_of_what_is_not_on_line_says_so_for_several_too(pages: dict[str, str]) -> None:
    heads = dict(
        re.findall(r'<p class="headline([^"]*)">(.*?)</p>', pages["early/named-failure-both.html"])
    )
    # Secured and parked, at once; secured, once the crew has acted.
    assert heads[" v v0 v2 v3"] == "Not on line"


def test_a_failure_that_nothing_shows_says_so(pages: dict[str, str]) -> None:
    """The fuse of the hot bus: the clock stops, and no meter reads that bus."""
    line = (
        "changes: only what is lost shows this failure."
        " What a dead instrument shows is false: see Lost."
    )
    assert f"{line}</p>" in pages["early/failure-f-hot.html"]
    assert line not in pages["early/failure-battery.html"].partition('id="see"')[0]
    assert f"<p>{line}</p>" not in pages["early/failure-gen-1.html"]
    assert line in part(pages, "failures")
