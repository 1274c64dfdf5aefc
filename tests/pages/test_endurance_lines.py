"""How long the batteries last, on the pages of failures.

The figures follow by hand from the rule of UK CAA AIL/0194 (2004), from memory: what may be counted
on, less what is drawn before shedding, less the landing; the rest by the shed load. The rule that
a warning names: 14 CFR 23.1353(h), 1-1-14 edition, from memory.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from sitegen.output.site import build_site
from tests.pages.as_written import as_written
from tests.pages.pages_sample import element, reading, sample

HEADING = "How long the batteries last"
FIGURES: dict[str, float] = {"radio-1": 10, "autopilot": 20, "clock": 2, "gyro": 0}
"""A. With both generators lost the battery carries 32 A, without the autopilot 12 A."""


def catalogue(amp_hours: float = 10, **amps: float | None) -> dict[str, Any]:
    """The sample with figures, all of its battery's amp-hours to be counted on."""
    written = sample()
    figures = {**FIGURES, **{item.replace("_", "-"): a for item, a in amps.items()}}
    for item in written["equipment"]:
        if figures.get(item["id"]) is not None:
            item["amps"] = figures[item["id"]]
    written["sources"][2].update({"amp-hours": amp_hours, "usable": 1})
    return written


def page(path: str, written: dict[str, Any]) -> str:
    """A page's text."""
    files = dict(build_site(reading(written)).files)
    text = files[f"early/{path}.html"]
    assert isinstance(text, str)
    return text


def section(text: str) -> str:
    """The part about batteries."""
    return element(text, "battery-time")


def plain(text: str) -> str:
    """The words of a piece of HTML."""
    return " ".join(re.sub(r"<[^>]+>", " ", text).replace("\xa0", " ").split())


def short_form(written: dict[str, Any]) -> str:
    """The words of the answer, which has the time in short."""
    return plain(element(page("named-failure-both", written), "answer"))


@pytest.fixture(scope="module")
def both() -> str:
    return page("named-failure-both", catalogue())


def test_the_time_and_its_stages_are_shown_with_minutes_and_amps(both: str) -> None:
    # 10 Ah are 600 A-min: 5 min at 32 A, 10 min at 12 A, and 320 A-min left for 12 A.
    words = plain(section(both))
    assert "Battery 41 min" in words
    assert "Before shedding 5 min at 32.0 A" in words
    assert "Shed 26 min at 12.0 A" in words
    assert "Landing 10 min at 12.0 A" in words


def test_the_stages_add_up_to_the_time_though_all_are_rounded_down(both: str) -> None:
    words = plain(section(both))
    total = int(re.search(r"Battery (\d+) min", words)[1])  # type: ignore[index]
    assert sum(map(int, re.findall(r"(\d+) min at", words))) == total


def test_each_stage_has_a_pattern_of_its_own(both: str) -> None:
    # 5, 26.67 and 10 of 41.67 minutes.
    drawn = re.findall(r'<svg class="(\w+)" width="([\d.]+)%"', both)
    assert drawn == [("before", "12.0"), ("after", "64.0"), ("landing", "24.0")]


def test_the_time_is_in_the_answer_and_leads_to_its_stages_after_the_drawing(both: str) -> None:
    answer = element(both, "answer")
    assert '<p class="lasting"><b>41 min</b>' in answer
    assert "41 min shed at minute 5" in plain(answer)
    order = ('id="answer"', 'class="functions', 'id="lost"', 'id="drawing"', HEADING)
    places = [both.index(t) for t in order]
    assert places == sorted(places)


def test_what_shedding_buys_is_listed_with_the_minute_at_which_it_is_done(both: str) -> None:
    # With the autopilot left on, 120 A-min at 32 A are left after the landing's 320.
    words = plain(section(both))
    assert (
        "What is shed at minute 5, and the minutes that each saves Autopilot 20.0 A +22 min"
        in words
    )


def test_what_costs_most_is_listed_with_the_minutes_to_be_gained(both: str) -> None:
    # Without its 2 A, 420 A-min are left for 10 A. The radio provides a function: it is not listed.
    costs = plain(section(both)).partition("These cost most")[2]
    assert "Clock 2.0 A +" in costs
    assert "Radio 1 10.0 A" not in costs


def test_an_endurance_that_is_the_same_in_both_stages_is_listed_once(both: str) -> None:
    assert both.count('<article class="endurance') == 1


def test_too_short_a_time_is_warned_of_and_names_its_rule(both: str) -> None:
    # 5 Ah are 300 A-min: 20 are left for 12 A.
    short = plain(section(page("named-failure-both", catalogue(amp_hours=5))))
    assert "Battery 16 min" in short
    assert "Missing 14 min" in short
    assert "the catalogue requires 30 minutes" in short
    assert "14 CFR 23.1353(h)" in short
    assert "14 CFR" not in both
    assert "Missing" not in plain(section(both))


def test_a_battery_that_is_flat_before_the_crew_has_acted_has_no_later_stage() -> None:
    # 2 Ah are 120 A-min: 3.75 min at 32 A.
    words = plain(section(page("named-failure-both", catalogue(amp_hours=2))))
    assert "Battery 3 min" in words
    assert "Before shedding 3 min at 32.0 A" in words
    assert "Flat before minute 5" in words
    assert "Landing" not in words


def test_a_battery_without_the_reserve_for_the_landing_says_so() -> None:
    # 4 Ah are 240 A-min: after 160 there are 80 for the landing's 12 A.
    words = plain(section(page("named-failure-both", catalogue(amp_hours=4))))
    assert "Not enough for the 10 minutes of the landing" in words
    assert "Landing 6 min at 12.0 A" in words


def test_equipment_without_figures_is_counted_and_named() -> None:
    # 9 Ah are 540 A-min: 5 minutes at 22 A, and the rest at 2 A, which the clock draws.
    words = plain(section(page("named-failure-both", catalogue(radio_1=None, amp_hours=9))))
    assert "Battery at most 220 min" in words
    assert re.search(r"Clock 2.0 A at most \+|Autopilot.*at most \+", words)
    assert "at most 220 min shed at minute 5" in short_form(catalogue(radio_1=None, amp_hours=9))
    assert "1 item is not counted, as the amps from this battery are not known" in words
    assert "are not known: the time is at most this Radio 1" in words
    # With 10 Ah it would be 250 minutes.
    words = plain(section(page("named-failure-both", catalogue(radio_1=None))))
    stages = "Before shedding 5 min at 22.0 A or more Shed 2.0 A or more Landing"
    assert f"Battery Not known {stages}" in words
    assert "are not known: the time is less, by how much is not known Radio 1" in words
    # It is not left out of the headline as ample.
    assert "Not known shed at minute 5" in short_form(catalogue(radio_1=None))


def test_no_time_is_shown_where_nothing_has_a_figure() -> None:
    words = plain(section(page("named-failure-both", sample())))
    assert "Battery Not known" in words
    assert "items are not counted, as the amps from this battery are not known" in words
    assert "Battery Not known nothing shed" in short_form(sample())


def test_a_battery_without_amp_hours_has_no_time() -> None:
    written = catalogue()
    del written["sources"][2]["amp-hours"]
    words = plain(section(page("named-failure-both", written)))
    assert "Battery Not known" in words
    assert "The catalogue has no amp-hours for it." in words
    assert "Before shedding 32.0 A" in words


def test_a_single_failure_has_an_endurance_only_where_the_battery_is_left() -> None:
    # The second and fourth views are of the condition with both generators off.
    text = page("failure-gen-1", catalogue())
    assert '<details class="group fold endurances v v1 v3"' in text
    # They were off before: the time is the one with nothing failed, and no large type.
    assert re.findall('class="lasting', text) == []
    short = "18 min Battery, nothing shed: 12 min less than required ; as with nothing failed"
    assert short in plain(element(text, "answer"))
    words = plain(section(text))
    assert "Battery as with nothing failed 18 min" in words
    assert "What is shed" not in words
    # No stage is otherwise: they are on the page of conditions.
    assert "Nothing shed" not in words
    where = re.search(
        r'<a href="conditions.html#([^"]*)">Stage by stage, with nothing failed', text
    )
    assert where
    conditions = page("conditions", catalogue())
    assert conditions.count("How long the batteries last") == 1
    there = plain(element(conditions, where[1]))
    # 600 A-min at 32 A, with nobody to shed anything.
    assert "Battery 18 min" in there
    assert "Nothing shed 8 min at 32.0 A" in there


def test_a_failure_that_takes_the_battery_has_no_endurance() -> None:
    text = page("failure-battery", catalogue())
    assert HEADING not in text
    # How long it lasts where it has the load is said with what it is.
    about = plain(element(text, "about"))
    assert "Lasts in Flight after Both generators lost 41 min" in about.replace("\u00a0", " ")
    assert 'class="lasting' not in text


def test_two_batteries_have_an_endurance_each() -> None:
    written = catalogue()
    written["sources"].append(
        {"id": "standby", "name": "Standby battery", "kind": "battery", "volts": 24}
        | {"amp-hours": 1, "usable": 1}
    )
    written["buses"].append({"id": "standby-bus", "name": "Standby bus"})
    written["feeders"].append({"from": "standby", "to": "standby-bus"})
    written["equipment"].append(
        {"id": "horizon", "name": "Horizon", "supplies": [{"bus": "standby-bus"}], "amps": 1}
        | {"ata": "34-21"}
    )
    for condition in written["conditions"]:
        condition["sources"].append("standby")
    text = page("named-failure-both", written)
    endurances = [plain(endurance) for endurance in section(text).split("<article")[1:]]
    assert len(endurances) == 2
    assert "Battery 41 min" in endurances[0]
    # 60 A-min at 1 A.
    assert "Standby battery as with nothing failed 60 min" in endurances[1]
    assert "Shed or not" in endurances[1]
    answer = plain(element(text, "answer"))
    extra = "what is turned on to land shortens it"
    once_shed = f"Battery 41 min shed at minute 5: 30 min required; {extra}"
    own = "60 min Standby battery, nothing shed: 30 min required ; as with nothing failed"
    assert once_shed in answer
    assert own in answer


def test_where_the_crew_turns_nothing_off_the_time_is_with_nothing_shed() -> None:
    written = catalogue()
    written["failures"][0]["then"] = {"switches": {"gen-1-switch": "off"}}
    text = page("named-failure-both", written)
    for words in (plain(section(text)), plain(element(text, "answer"))):
        assert "othing shed" in words
        assert "hed or not" not in words
    # A breaker without load is pulled: this is shedding, and gains nothing.
    written["failures"][0]["then"]["pulled"] = ["fan.breaker-1"]
    assert "Shed or not" in plain(section(page("named-failure-both", written)))


def test_the_caution_says_that_it_is_computed(both: str) -> None:
    caution = "Computed from catalogue figures, not measured. The approved data decides."
    assert section(both).count(caution) == 1


def test_at_once_the_page_says_first_how_long_the_battery_lasts_if_nobody_sheds(both: str) -> None:
    answer = plain(element(both, "answer"))
    # 600 A-min at 32 A are 18.75 min.
    assert (
        "Battery 18 min nothing shed: 12 min less than required"
        " 41 min shed at minute 5: 30 min required" in answer
    )
    # Of two conditions in two stages the first two views are at once; in the second condition the
    # generators are off before, so that one time is as with nothing failed.
    lines = re.findall(
        r'class="(?:of-battery|lasting)([^"]*)">|(nothing shed|shed at)', element(both, "answer")
    )
    assert [a or b for a, b in lines if a or b] == [
        *(" v v0", "nothing shed", "shed at"),
        *(" v v1 v2 v3", "shed at"),
        "nothing shed",
    ]
    assert re.findall(r'<p class="also([^"]*)"><a href="#battery-time">', both) == [" v v1"]


def test_a_block_of_the_handout_has_the_time_if_nobody_sheds_and_then_once_shed() -> None:
    written = {**catalogue(), "handout": [{"id": "all", "name": "All", "sections": ["failures"]}]}
    said = plain(element(page("handout", written), "named-failure-both"))
    # 600 A-min at 32 A.
    assert "18 min Battery, nothing shed" in said
    assert "41 min Battery, shed at minute 5" in said
    assert said.index("nothing shed") < said.index("shed at minute 5")
    # A single failure that leaves a generator has none.
    assert "Battery, " not in plain(element(page("handout", written), "failure-gen-1"))


@pytest.mark.slow
def test_no_view_of_the_demo_says_the_same_time_twice(site: Path) -> None:
    said = 0
    for path in site.glob("block-*/named-failure-*.html"):
        answer = element(as_written(path.read_text(encoding="utf-8")), "answer")
        lines: dict[str, list[str]] = {}
        of_one = r'<div class="of-battery([^"]*)">(.*?)</div>'
        for views, text in re.findall(of_one, answer, re.DOTALL):
            lines.setdefault(plain(text), []).extend(views.split()[1:] or ["every"])
        said += len(lines)
        for text, views in lines.items():
            assert len(views) == len(set(views)), (path.name, text)
    assert said
