"""The diagnosis by taps: what is seen is said, the causes follow, a check narrows them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from math import prod
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from sitegen.answers.find import find_observation
from sitegen.answers.observations import Observation
from sitegen.answers.troubleshoot import troubleshoot
from sitegen.catalogue.model import Catalogue
from sitegen.solver.network import build
from tests.answers.test_both_answers_to_a_fault import NET
from tests.browser.conftest import PHONE, phone_without_complaints
from tests.browser.test_board import board_of, network
from tests.nets import expand


@pytest.fixture
def phone(browser: Browser, site: Path) -> Iterator[Page]:
    with phone_without_complaints(browser) as page:
        page.goto((site / "block-1" / "diagnose.html").as_uri() + "#c=cruise")
        yield page


def causes(page: Page) -> list[str]:
    """The causes once the search has ended."""
    page.wait_for_selector(".results .hint")
    page.wait_for_function("() => document.querySelector('.diagnose [role=status]').textContent")
    return page.locator(".causes button b").all_inner_texts()


def test_a_dead_item_is_named_and_a_check_that_is_tapped_narrows_the_causes(phone: Page) -> None:
    phone.fill(".items input", "com 1")
    phone.click("button[aria-label='VHF COM 1: dead']")
    before = causes(phone)
    assert "COM 1 open" in before
    phone.wait_for_selector(".look-next button")
    name = phone.inner_text(".look-next .check b >> nth=0").removeprefix("Look at ")
    reads = phone.inner_text(".look-next .check button b >> nth=0")
    phone.click(".look-next .check button >> nth=0")
    after = causes(phone)
    assert 0 < len(set(after) & set(before)) < len(before)
    # What was tapped is now among what is seen.
    assert phone.input_value(f".meter.read:has-text('{name}') input") == reads
    expected = troubleshoot(
        network(),
        "cruise",
        [Observation("com-1", "dead"), find_observation(network(), "ac-volts", reads.split()[0])],
    )
    assert len({c for c in expected.candidates if len(c) == 1}) == int(
        phone.inner_text(".results .first b")
    )


def test_the_next_check_is_before_a_long_list_of_sets_and_after_a_short_one(phone: Page) -> None:
    def kinds() -> list[str]:
        causes(phone)
        shown = phone.locator(".results > .causes, .results > .look-next").all()
        return [str(part.get_attribute("class")) for part in shown]

    phone.click(".meter:has-text('Forward voltmeter') button:has-text('24 V')")
    phone.click("button:has-text('GEN 2 OFF')")
    phone.fill(".items input", "weather radar")
    phone.click("button[aria-label='Weather radar: dead']")
    assert kinds() == ["look-next", "causes"]
    phone.click(".board-bar button:has-text('Clear')")
    phone.click("button:has-text('GEN 2 OFF')")
    assert kinds() == ["causes", "look-next"]


def test_an_ammeter_that_shows_the_other_way_is_said_by_one_tap(phone: Page) -> None:
    """In cruise the battery is charged; the first thing to say of a lost generator is discharge."""
    phone.click(".meter:has-text('Battery ammeter') button:has-text('A discharge')")
    ways = ".meter.read:has-text('Battery ammeter') .stepper [aria-pressed=true]"
    assert phone.inner_text(ways) == "discharge"
    assert "discharge" in phone.evaluate("decodeURIComponent(location.hash)")


def test_a_reading_to_tap_is_what_a_likely_failure_makes_of_the_meter(phone: Page) -> None:
    """Both generators lost: 103 to 117 A of discharge in cruise; another value rules it out."""
    phone.click("button:has-text('GEN 1 OFF')")
    phone.click("button:has-text('GEN 2 OFF')")
    phone.click(".meter:has-text('Battery ammeter') button:has-text('A discharge')")
    causes(phone)
    assert phone.inner_text(".results").startswith("9 pairs explain it")
    assert "Generator 1 lost or shorted" in phone.inner_text(".results")
    phone.click(".board-bar button:has-text('Clear')")
    phone.click("button:has-text('GEN 1 OFF')")
    taps = phone.locator(".meter:has-text('Generator 2 loadmeter') .stepper button")
    taps.last.click()
    assert "Generator 1 lost" in causes(phone)


def test_what_is_not_read_can_be_said_to_be_normal_by_one_tap(phone: Page) -> None:
    assert phone.locator(".rest-normal").is_hidden()
    phone.click("button:has-text('GEN 2 OFF')")
    phone.click(".rest-normal")
    assert phone.locator(".rest-normal").is_hidden()
    assert phone.locator(".lamp-unread").count() == 0
    assert phone.inner_text(".lamp.read:has-text('GEN 1 OFF') small") == "unlit"
    assert phone.input_value("[aria-label='Forward voltmeter']") == "28.5\N{NO-BREAK SPACE}V"
    assert phone.evaluate("document.documentElement.scrollWidth") == PHONE["width"]


def test_a_cause_is_shown_on_the_drawing_and_leads_to_the_board(phone: Page) -> None:
    phone.get_by_role("button", name="Aft voltmeter: 0 V").click()
    causes(phone)
    phone.click(".causes button:has-text('Aft bus dead')")
    assert phone.get_attribute("[data-part=aft].bus, [data-part=aft]", "class")
    assert phone.inner_text(".drawn-cause b") == "Aft bus dead"
    assert "f=aft:dead" in (phone.get_attribute(".drawn-cause a", "href") or "")
    phone.click("button:has-text('Clear')")
    assert phone.inner_text(".results .first").startswith("Tap a meter")


def test_the_item_itself_and_its_own_breaker_come_first(phone: Page) -> None:
    phone.fill(".items input", "com 2")
    phone.click("button[aria-label='VHF COM 2: dead']")
    listed = causes(phone)
    first = " ".join(phone.inner_text(".results > :first-child").split())
    assert first.startswith("VHF COM 2 may itself have failed: check it and its own breaker")
    assert first.endswith("COM 2 10 A Right side wall panel D3")
    # Then what takes least besides it: the breaker, before its bus, before what feeds that.
    assert listed[0] == "COM 2 open"
    counts = [
        0 if text.startswith("no other") else int(text.split()[0])
        for text in phone.locator(".causes >> nth=0").locator("small").all_inner_texts()
    ]
    assert counts == sorted(counts)
    assert counts[-1] > 20
    found = troubleshoot(network(), "cruise", [Observation("com-2", "dead")])
    lost = {len(found.losses[i].lost) - 1 for i, c in enumerate(found.candidates) if len(c) == 1}
    assert set(counts) <= lost


def test_a_cause_says_what_comes_on_with_its_hazard(phone: Page, site: Path) -> None:
    address = (site / "block-1" / "diagnose.html").as_uri()
    phone.goto("about:blank")
    phone.goto(f"{address}#c=battery-only&o=starter-1-lamp:lit")
    causes(phone)
    row = phone.locator(".causes li").filter(has_text="Start contactor 1 stuck closed").first
    assert row.locator("small").inner_text() == (
        "no items lost, 1 comes on: Engine 1 starter. "
        f"Hazard: Engine 1 starter: {network().hazard_in_short('starter-1')}"
    )


def test_a_breaker_out_of_reach_in_flight_is_not_checked_first(phone: Page, site: Path) -> None:
    address = (site / "block-2" / "diagnose.html").as_uri()
    phone.goto("about:blank")
    phone.goto(f"{address}#c=cruise&o=windshield-right:dead,mid-volts:28.5")
    causes(phone)
    said = " ".join(phone.inner_text(".check-first").split())
    assert said == (
        "Right windshield heat may itself have failed: on the ground, check it and its own breaker."
        " WSHLD R 30 A Power distribution box B5"
    )
    assert phone.locator(".causes + .check-first").count() == 1
    titles = phone.locator(".look-next .check > b").all_inner_texts()
    asked = "On the ground, power off, open the panel: is WSHLD R (Power distribution box B5) open?"
    assert titles[-1] == asked
    # Of several it is said at the breaker that is out of reach.
    phone.goto("about:blank")
    phone.goto(f"{address}#c=cruise&o=windshield-right:dead,com-2:dead")
    causes(phone)
    rows = [" ".join(row.split()) for row in phone.locator(".check-first li").all_inner_texts()]
    assert [row.endswith(", on the ground") for row in rows] == [True, False]
    # On the ground it is a breaker like any other.
    phone.goto("about:blank")
    phone.goto(f"{address}#c=on-external-power&o=hydraulic-pump:dead")
    causes(phone)
    assert "check it and its own breaker first" in phone.inner_text(".check-first")


def test_a_failure_that_explains_it_in_two_answers_is_one_row(
    browser: Browser, tmp_path: Path
) -> None:
    """The short takes the fan with its bus; the radio and the lamp if the contactor drops out."""
    address = board_of(NET, tmp_path).with_name("diagnose.html").as_uri()
    on = build(Catalogue.model_validate(expand(NET)), "all")
    with phone_without_complaints(browser) as page:
        page.goto(f"{address}#c=flight&o=fan:dead")
        causes(page)
        found = troubleshoot(on, "flight", [Observation("fan", "dead")])
        singles = [c for c in found.candidates if len(c) == 1]
        assert len(set(singles)) == len(singles) - 1
        rows = page.locator(".causes >> nth=0").locator("li")
        assert rows.count() == len(set(singles))
        shorted = rows.filter(has_text="third shorted")
        assert shorted.locator("b").all_inner_texts() == ["third shorted"]
        also = "also, if contactors drop out: 2 other items lost"
        assert also in shorted.locator("small").inner_text()
        assert page.evaluate("document.documentElement.scrollWidth") == PHONE["width"]


def test_what_stays_of_the_causes_is_counted(phone: Page, site: Path) -> None:
    address = (site / "block-1" / "diagnose.html").as_uri()
    phone.goto("about:blank")
    phone.goto(f"{address}#c=cruise&o=com-1:dead,com-2:dead")
    causes(phone)
    seen = [Observation("com-1", "dead"), Observation("com-2", "dead")]
    singles = [c for c in troubleshoot(network(), "cruise", seen).candidates if len(c) == 1]
    count = len(set(singles))
    assert phone.inner_text(".results .first") == f"{count} single failures explain it"
    rows = phone.locator(".causes >> nth=0").locator("li")
    assert rows.count() == count
    stay = phone.locator(".look-next .check").first.locator("li span").all_inner_texts()
    # A named failure explains it too, and counts as one; one alone is named.
    stays = f"of these {count + 1} stay"
    assert stay == [f"2 {stays}", "Ring dead", f"4 {stays}"]


def test_it_is_said_where_no_check_distinguishes_the_fewest(phone: Page, site: Path) -> None:
    address = (site / "block-2" / "diagnose.html").as_uri()
    seen = "gen-2-off:lit,utility-off:lit,mid-volts:28.5,survey-radio:dead"
    phone.goto("about:blank")
    phone.goto(f"{address}#c=cruise&o={seen}")
    causes(phone)
    said = (
        "No reading and no item distinguishes these first 3: the checks below are for sets of more."
    )
    assert phone.locator(".look-next > p").first.inner_text() == said
    phone.goto("about:blank")
    phone.goto(f"{address}#c=cruise&o=com-2:dead")
    causes(phone)
    assert "distinguishes" not in phone.inner_text(".results")


def test_a_link_may_give_one_observation_after_the_other(phone: Page, site: Path) -> None:
    address = (site / "block-1" / "diagnose.html").as_uri()
    phone.goto("about:blank")
    phone.goto(f"{address}#c=cruise&o=com-2:dead&o=aft-volts:0")
    causes(phone)
    assert phone.inner_text(".items .set-list").startswith("VHF COM 2: dead")
    assert phone.input_value(".meter.read input").split() == ["0", "V"]


def test_a_meter_that_cannot_be_right_is_doubted_and_nothing_else(phone: Page, site: Path) -> None:
    address = (site / "block-1" / "diagnose.html").as_uri()
    phone.goto("about:blank")
    phone.goto(f"{address}#c=cruise&o=forward-volts:17,mid-volts:28.5,com-1:works")
    causes(phone)
    assert phone.inner_text(".results .first") == "Nothing that was tried explains it"
    near = "But for \u2018Forward voltmeter: 17 V\u2019, nothing need have failed"
    assert [" ".join(one.split()) for one in phone.locator(".near").all_inner_texts()] == [near]


def test_what_is_dead_with_nothing_failed_is_said(phone: Page, site: Path) -> None:
    address = (site / "block-1" / "diagnose.html").as_uri()
    phone.goto(f"{address}#c=cruise&o=com-2:dead,starter-1:dead")
    phone.reload()
    causes(phone)
    said = phone.inner_text(".results")
    assert "Dead in this condition with nothing failed: Engine 1 starter." in said
    assert "VHF COM 2 may itself have failed" in said
    # On the first screen, too.
    phone.evaluate("scrollTo(0, 0)")
    bar = phone.locator(".answer-bar")
    bar.wait_for()
    assert "Engine 1 starter: dead in this condition with nothing failed" in bar.inner_text()
    box = bar.bounding_box()
    assert box
    assert box["y"] + box["height"] == PHONE["height"]


def test_of_several_dead_items_each_has_its_breaker_there(phone: Page, site: Path) -> None:
    address = (site / "block-1" / "diagnose.html").as_uri()
    phone.goto(f"{address}#c=cruise&o=com-1:dead,com-2:dead,mid-volts:0")
    phone.reload()
    causes(phone)
    rows = phone.locator(".check-first li").all_inner_texts()
    assert [row.splitlines()[0] for row in rows] == ["VHF COM 1", "VHF COM 2"]
    assert "No breaker" not in "".join(rows)


@pytest.mark.parametrize("lamp", ["gen-1-off", "gen-2-off"])
def test_what_sets_of_failures_have_in_common_is_said_once(phone: Page, lamp: str) -> None:
    """Every set is in one line, and no line has a choice that is none of the sets."""
    seen = [Observation("com-1", "dead"), find_observation(network(), lamp, "lit")]
    found = troubleshoot(network(), "cruise", seen)
    triples = [c for c in found.candidates if len(c) == 3]
    lines = phone.evaluate(
        """sets => causeList.inLines(sets.map(failed => ({failed, reading: ""})))
        .map(({groups, causes}) => [groups, causes.map(one => one.failed)])""",
        [[list(fault) for fault in c] for c in triples],
    )
    assert len(triples) > 50
    assert len(lines) < len(triples) / 5
    in_lines = [{tuple(f) for f in failed} for _, sets in lines for failed in sets]
    assert len(in_lines) == len(triples)
    assert all(set(c) in in_lines for c in triples)
    for groups, sets in lines:
        assert prod(map(len, groups)) == len(sets)


def test_of_a_line_of_sets_one_is_chosen_by_its_parts(phone: Page, site: Path) -> None:
    address = (site / "block-1" / "diagnose.html").as_uri()
    phone.goto(f"{address}#c=cruise&o=com-2:dead,gen-1-off:lit,gen-2-off:lit")
    phone.reload()
    causes(phone)
    line = phone.locator(".cause-set", has_text="3 pairs")
    said = " ".join(line.locator("summary").inner_text().split())
    assert said.startswith("Mid bus shorted and one of: Generator 1 lost or shorted, Forward bus")
    # Each group has a line of its own.
    tops = line.locator("summary > span > b, summary > span > span").evaluate_all(
        "all => all.map(group => group.getBoundingClientRect().top)"
    )
    assert len(tops) == 2
    assert tops[0] < tops[1]
    line.locator("summary").click()
    line.locator("button", has_text="Forward bus shorted").click()
    assert phone.inner_text(".drawn-cause b") == "Forward bus shorted and Mid bus shorted"
    assert line.locator("[aria-pressed=true]").all_inner_texts() == ["Forward bus shorted"]


def test_the_drawing_is_there_for_a_chosen_cause_only(phone: Page) -> None:
    assert phone.locator(".drawn-box").is_hidden()
    phone.get_by_role("button", name="Aft voltmeter: 0 V").click()
    assert phone.locator(".drawn-box").is_hidden()
    causes(phone)
    phone.click(".causes button:has-text('Aft bus dead')")
    assert phone.locator(".drawn-box svg.diagram").is_visible()
    phone.click("button:has-text('Clear')")
    assert phone.locator(".drawn-box").is_hidden()


def test_the_bar_with_the_answer_leads_to_its_beginning(phone: Page) -> None:
    phone.fill(".items input", "com 2")
    phone.click("button[aria-label='VHF COM 2: dead']")
    causes(phone)
    phone.click(".answer-bar")
    above, first = phone.evaluate(
        """() => [document.querySelector('.strip').getBoundingClientRect().bottom,
        document.querySelector('.results > *').getBoundingClientRect().top]"""
    )
    assert above <= first < above + 16
    # What is seen ends above it, and where the answer is in view the bar is not.
    phone.locator(".answer-bar").wait_for(state="hidden")
    assert (
        phone.evaluate("document.querySelector('.inputs').getBoundingClientRect().bottom") <= above
    )


def test_what_was_said_of_a_meter_is_inside_its_button(phone: Page, site: Path) -> None:
    address = (site / "block-1" / "diagnose.html").as_uri()
    phone.goto(f"{address}#c=cruise&o=ac-volts:115,aft-volts:28.5,battery-amps:10/charge%20side")
    phone.reload()
    outside = phone.evaluate(
        """() => [...document.querySelectorAll('.stepper button')].filter(button => {
          const range = document.createRange();
          range.selectNodeContents(button);
          const box = button.getBoundingClientRect();
          return [...range.getClientRects()].some(
            r => r.left < box.left - 1 || r.right > box.right + 1);
        }).map(button => button.textContent)"""
    )
    assert outside == []
    cut = phone.locator(".meter.read input").evaluate_all(
        "all => all.map(one => one.scrollWidth > one.clientWidth)"
    )
    assert cut == [False, False, False]


def test_the_volts_of_a_meter_are_typed_to_a_tenth(phone: Page) -> None:
    phone.get_by_role("button", name="Forward voltmeter: 24 V").click()
    causes(phone)
    needle = phone.locator(".meter:has-text('Forward voltmeter') .gauge").inner_html()
    phone.fill("[aria-label='Forward voltmeter']", "25,1")
    assert "forward-volts:25.1" in phone.evaluate("decodeURIComponent(location.hash)")
    assert phone.locator(".meter:has-text('Forward voltmeter') .gauge").inner_html() != needle
    # What is no figure changes nothing; a lamp that is tapped next is not lost.
    phone.fill("[aria-label='Forward voltmeter']", "")
    phone.click("button:has-text('GEN 2 OFF')")
    assert phone.input_value("[aria-label='Forward voltmeter']") == "25.1\N{NO-BREAK SPACE}V"
    assert "gen-2-off:lit" in phone.evaluate("decodeURIComponent(location.hash)")
    phone.click("[aria-label='Forward voltmeter: take back']")
    assert "forward-volts" not in phone.evaluate("location.hash")


def test_single_failures_that_explain_all_but_one_observation_are_listed_openly(
    phone: Page, site: Path
) -> None:
    address = (site / "block-2" / "diagnose.html").as_uri()
    phone.goto(f"{address}#c=cruise&o=com-1:dead,battery-off:lit")
    phone.reload()
    causes(phone)
    # Two failures with what is left unexplained, before the triples.
    but = "7 single failures explain all but \u2018VHF COM 1: dead\u2019"
    assert phone.inner_text(".results .first") == but
    assert phone.locator(".near .causes li").count() == 7
    assert phone.locator(".near .causes li").first.is_visible()
    assert phone.locator(".near h2").count() == 0
    assert phone.inner_text(".also-sets > summary") == "Also 217 triples"
    compared = phone.inner_text(".look-next .of")
    assert compared == f"Compared: {but.replace('explain', 'that explain')}."
    phone.goto("about:blank")
    phone.goto(f"{address.replace('block-2', 'block-1')}#c=cruise&o=com-1:dead,gen-1-off:lit")
    causes(phone)
    # Where pairs explain everything they come after these.
    assert phone.inner_text(".results .first") == "33 pairs explain it"
    assert phone.locator(".near h2:visible").all_inner_texts() == [
        "4 single failures explain all but \u2018VHF COM 1: dead\u2019",
        "10 single failures explain all but \u2018GEN 1 OFF lamp: lit\u2019",
    ]


def test_where_nothing_need_have_failed_what_may_have_is_folded(phone: Page, site: Path) -> None:
    address = (site / "block-1" / "diagnose.html").as_uri()
    phone.goto(f"{address}#c=cruise&o=forward-volts:28.5")
    phone.reload()
    causes(phone)
    assert phone.inner_text(".results .first b") == "Nothing need have failed"
    assert phone.locator(".results .causes:visible").count() == 0
    fold = phone.locator(".results > details > summary")
    assert fold.count() == 1
    assert re.fullmatch(r"\d+ single failures would not show either", fold.inner_text())
    fold.click()
    assert phone.locator(".results .causes button:visible").count() > 1


def test_that_nothing_explains_it_is_said_louder_than_what_is_nearest(
    phone: Page, site: Path
) -> None:
    address = (site / "block-1" / "diagnose.html").as_uri()
    seen = "com-1:dead,aft-volts:0,gen-1-off:lit,com-2:works,forward-volts:40"
    phone.goto(f"{address}#c=cruise&o={seen}")
    phone.reload()
    causes(phone)
    louder, nearest = (
        phone.locator(part).first.evaluate(
            "e => [parseFloat(getComputedStyle(e).fontSize), +getComputedStyle(e).fontWeight]"
        )
        for part in (".results .first > *", ".near h2")
    )
    assert phone.inner_text(".results .first") == "Nothing that was tried explains it"
    without = "up to three together without shorted diodes, stuck breakers and stuck switches."
    assert without in phone.inner_text(".results")
    for why in phone.locator(".near small").all():
        box = why.bounding_box()
        assert box
        assert box["x"] + box["width"] <= PHONE["width"] - 14
    assert louder[0] > nearest[0]
    assert louder[1] >= nearest[1]


def test_a_check_says_how_many_of_those_that_it_compares_stay(phone: Page, site: Path) -> None:
    address = (site / "block-1" / "diagnose.html").as_uri()
    phone.goto(f"{address}#c=cruise&o=com-1:dead")
    phone.reload()
    causes(phone)
    found = troubleshoot(network(), "cruise", [Observation("com-1", "dead")])
    singles = len({failed for failed in found.candidates if len(failed) == 1})
    # Pairs and triples are listed besides, and the checks do not compare these.
    assert singles + 1 < len(found.candidates)
    compared = f"Compared: {singles} single failures and 1 named failure."
    assert phone.inner_text(".look-next > .of") == compared
    for number, check in enumerate(found.next_checks[:3]):
        shown = phone.locator(".look-next .check").nth(number).locator("li span").all_inner_texts()
        left = [len({found.candidates[i] for i in numbers}) for _, numbers in check.answers]
        assert shown == [f"{count} of these {singles + 1} stay" for count in left]


def test_a_source_is_taken_off_line_with_its_hazard_beside(phone: Page, site: Path) -> None:
    address = (site / "block-1" / "diagnose.html").as_uri()
    phone.goto(f"{address}#c=on-external-power")
    phone.reload()
    # Other checks are better here: only those with a source off line are listed.
    phone.evaluate(
        """() => {
          const begin = diagnosis.begin;
          diagnosis.begin = (...asked) => {
            const search = begin(...asked), checks = search.checks;
            let all = null, some = [];
            search.checks = () => {
              if (all !== checks()) some = (all = checks()).filter(check => check.sourceOff);
              return some;
            };
            return search;
          };
        }"""
    )
    phone.click("button:has-text('UTILITY OFF')")
    causes(phone)
    first = phone.locator(".look-next .check").first
    title = first.locator("b").first.inner_text()
    assert re.fullmatch(r"Take External power off line, then read .+", title)
    hazard = network().hazard_in_short("external-power")
    assert first.locator(".hazard").all_inner_texts() == [f"Hazard: External power: {hazard}"]
    box = first.locator(".hazard").bounding_box()
    assert box
    assert box["x"] + box["width"] <= PHONE["width"]


def test_a_breaker_and_a_link_are_named_with_their_places(browser: Browser, site: Path) -> None:
    with phone_without_complaints(browser) as page:
        address = (site / "block-3" / "diagnose.html").as_uri()
        page.goto(f"{address}#c=cruise&o=standby-on:lit,low-volts:lit")
        causes(page)
        titles = page.locator(".look-next .check > b").all_inner_texts()
    assert titles == [
        "Breaker ESS FWD, Pedestal panel A1: in or popped?",
        "On the ground, power off, open the panel: is ESS AFT (Power distribution box A8) open?",
    ]
