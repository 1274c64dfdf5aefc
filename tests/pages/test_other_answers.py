"""A failure's page lists what differs if contactors drop out, or if what is overloaded opens."""

from __future__ import annotations

import html
import re

from sitegen.output.site import build_site
from tests.answers.test_besides import LOADS_MORE
from tests.answers.test_both_answers_to_a_fault import NET, RIDES, TAKES_MORE
from tests.answers.test_headline import CREW_ENDS_IT
from tests.answers.test_overload import TWO_SIDES
from tests.nets import expand
from tests.pages.pages_sample import reading

DROPS = NET.replace("hold: {", "hold: {rides-through: false, ")
LEFT_TO_THE_BATTERY = """
sources: {bat: {kind: battery, volts: 24, amp-hours: 20, usable: 1}}
buses: [main, side, third]
devices:
  hold: {rides-through: false, kind: contactor, closes-when: {live: [main], closed: [hold]}}
  cb-3: breaker
feeders: [bat > main, main > hold > side, main > cb-3 > third]
equipment:
  radio: {supplies: [{bus: main}], amps: 6}
  heater: {supplies: [{bus: side}], amps: 20}
  fan: third
conditions: {flight: {sources: [bat], held-closed: [hold]}}
"""


def page_of(net: str, page: str) -> str:
    """The text of a page."""
    raw = {**expand(net), "airframes": [{"id": "all", "name": "All"}]}
    raw["failures"] = [{"id": "short", "name": "A short", "failed": ["third:shorted"]}]
    if "third" not in net:
        raw["failures"] = []
    return str(dict(build_site(reading(raw)).files)[f"all/{page}.html"])


def words(part: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", html.unescape(part)).replace("\xa0", " ").split())


def section(net: str, page: str, anchor: str, until: str = "</section>") -> str:
    """The words of one section of a page; empty without it."""
    part = page_of(net, page).partition(f'id="{anchor}"')[2].partition(until)[0]
    return " ".join(re.sub(r"<[^>]+>", " ", part).split())


def test_what_is_lost_and_comes_on_only_if_contactors_drop_out_is_named() -> None:
    """The fan is lost in both answers: it is in the list of what is lost, not in this one."""
    for page in ("failure-third", "named-failure-short"):
        words = section(NET, page, "if-dropping-out")
        assert "If contactors drop out Without power: side , third ." in words
        assert "1 function lost as well talk" in words
        assert re.search(r"2 items lost as well (radio lamp|lamp radio)", words)
        assert "1 item coming on as well fire-bell" in words
        assert "fan" not in words
        assert re.search(r"What you see then .*side-volts 0 V was 28 V", words)
        # In answer 1 the contactor rides through.
        assert re.search(r"How it comes about then .*\bhold : open because of", words)
        assert not re.search(r"\bhold : open", section(NET, page, "how"))


def test_the_answer_says_what_to_look_up_where_the_catalogue_does_not_say_which_fits() -> None:
    ask = "The catalogue does not say whether hold does: look up if it is a ride-through type."
    for page in ("failure-third", "named-failure-short"):
        assert ask in section(NET, page, "answer")
        assert "The catalogue" not in section(DROPS, page, "answer")


def test_the_headline_has_what_drops_out_by_the_catalogue() -> None:
    for page in ("failure-third", "named-failure-short"):
        either = "You lose 1 item or 3 items , 1 function if contactors drop out"
        assert either in section(NET, page, "answer")
        words = section(DROPS, page, "answer")
        assert "You lose 3 items , 1 function" in words
        assert "if contactors" not in words


def test_the_whole_page_has_what_drops_out_by_the_catalogue() -> None:
    """The fan is lost with its bus, the radio and the lamp as the contactor drops out."""
    for page in ("failure-third", "named-failure-short"):
        lost = section(DROPS, page, "lost").partition("To see it here")[0]
        assert lost.endswith("fan, lamp, radio fan lamp radio ")
        assert section(NET, page, "lost").partition("To see it here")[0].endswith("fan fan ")
        assert "Without power: side , third ." in section(DROPS, page, "answer", "<nav")
        assert "Comes on did not work before 23 Communications fire-bell" in section(
            DROPS, page, "comes-on"
        )
        assert re.search(r"side-volts 0 V was 28 V", section(DROPS, page, "see"))
        assert "1 of 4 items still work" in section(DROPS, page, "left")
        assert re.search(r"\bhold : open because of", section(DROPS, page, "how"))
        assert "ride through unless the catalogue says otherwise" in section(DROPS, page, "about")
        assert section(DROPS, page, "if-dropping-out") == ""


def test_its_loads_and_minutes_have_it_too() -> None:
    """With the tie open the battery feeds the radio alone: 6 A instead of 26."""
    for page in ("failure-third", "named-failure-short"):
        written = page_of(LEFT_TO_THE_BATTERY, page)
        loads = words(written.partition('id="loads"')[2].partition("All loads")[0])
        assert re.search(r"\bbat (26\.0 A )?6\.0 A", loads), loads
        minutes = words(written.partition('id="battery-time"')[2].partition("</section>")[0])
        assert re.search(r"\b200 min\b", minutes), minutes
        riding = page_of(LEFT_TO_THE_BATTERY.replace("rides-through: false, ", ""), page)
        loads = words(riding.partition('id="loads"')[2].partition("All loads")[0])
        assert "6.0 A" not in loads.replace("26.0 A", ""), loads


def test_a_bus_s_page_says_what_a_short_of_it_takes_where_that_is_not_the_same() -> None:
    words = section(NET, "bus-third", "answer", 'class="drawing"')
    assert "1 item lost which, and what is left" in words
    assert "If it is shorted: 1 lost; 3 lost, 1 comes on if contactors drop out." in words
    assert "If it is shorted" not in section(NET, "bus-spare", "answer", 'class="drawing"')


def test_there_is_no_such_list_where_the_contactor_rides_through() -> None:
    riding = NET.replace("hold: {", f"hold: {{{RIDES}")
    assert section(riding, "named-failure-short", "if-dropping-out") == ""


def test_what_is_lost_if_the_overloaded_breaker_opens_is_named() -> None:
    words = section(TWO_SIDES, "failure-gen-2", "if-overload-opens")
    assert "If what is overloaded opens Without power: right ." in words
    assert "1 item lost as well heater" in words
    assert re.search(r"How it comes about then .*cb-tie : tripped", words)
    assert section(TWO_SIDES, "failure-gen-1", "if-overload-opens") == ""


def test_what_only_the_first_answer_takes_is_named_too() -> None:
    """The fan's other bus comes alive when the contactor drops out."""
    spared = NET.replace("fan: third", "fan: {supplies: [{bus: third}, {bus: spare}]}")
    words = section(spared, "failure-third", "if-dropping-out")
    assert "1 item not lost then fan" in words


def test_functions_that_the_crew_ends_are_not_listed_as_lost() -> None:
    """With the radio turned off talking ends with that, and is lost where the dip takes the radio;
    signalling, with the beacon turned off, ends there with that.
    """
    raw = {**expand(CREW_ENDS_IT), "airframes": [{"id": "all", "name": "All"}]}
    then = {"shed": ["radio", "beacon"]}
    raw["failures"] = [{"id": "short", "name": "A short", "failed": ["side:shorted"], "then": then}]
    page = str(dict(build_site(reading(raw)).files)["all/named-failure-short.html"])
    part = words(page.partition('id="if-dropping-out"')[2].partition("</section>")[0])
    assert "2 functions lost as well" not in part
    assert "1 function lost as well talk" in part
    assert "1 function turned off then signal" in part


def test_what_must_open_in_the_other_answer_alone_is_said_at_once_and_in_its_section() -> None:
    """36 A of the second generator go through a breaker of 25 A if the contactor drops out."""
    net = LOADS_MORE % (100, 36)
    answer = section(net, "failure-aux", "answer")
    assert "If contactors drop out while the fault lasts, cbb must open by overload." in answer
    assert "No item is lost" in answer
    assert "Overloaded and must open: cbb." in section(net, "failure-aux", "if-dropping-out")


def test_the_list_of_failures_says_where_a_short_takes_more() -> None:
    """Dead, the side bus takes its two; shorted, the contactor drops out with the other two.

    Shorted, the generator takes no more than lost: all four.
    """
    listed = words(page_of(TAKES_MORE, "failures"))
    assert "side 2 lost; 4 lost if shorted" in listed
    assert "gen 4 lost" in listed
    assert "gen 4 lost;" not in listed
