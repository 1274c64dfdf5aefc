"""What the crew does is listed in full, and its text is that of the condition."""

from __future__ import annotations

import json
import re
from html import unescape
from pathlib import Path
from typing import Any

import pytest
import yaml
from click.testing import CliRunner

from sitegen.cli import commands
from sitegen.output.site import build_site
from tests.pages.pages_sample import reading, sample, words

MINUTES = '><a href="#battery-time">'


def catalogue() -> dict[str, Any]:
    changed = sample()
    [both] = changed["failures"]
    both["notes-in"] = {"parked": "Nothing to do: the generators were off."}
    both["then"] |= {"pulled": ["cb-inverter"], "reset": ["gen-1"]}
    conditions = ["flight", "parked"]
    changed["handout"] = [
        {"id": "course", "name": "Course", "sections": ["failures"], "conditions": conditions}
    ]
    return changed


@pytest.fixture(scope="module")
def pages() -> dict[str, str]:
    return {p: c for p, c in build_site(reading(catalogue())).files if isinstance(c, str)}


def crew_section(page: str) -> str:
    return page[page.index('class="group crew"') :].partition("</section>")[0]


def test_a_page_shows_the_text_of_the_condition(pages: dict[str, str]) -> None:
    section = crew_section(pages["early/named-failure-both.html"])
    texts = dict(re.findall(r'<div class="(v [v0-9 ]+)"><p>([^<]*)</p>', section))
    assert texts == {
        "v v0 v2": "Land as soon as practical.",
        "v v1 v3": "Nothing to do: the generators were off.",
    }


@pytest.mark.parametrize("landing", [10, 0])
def test_where_nobody_has_to_land_the_minutes_come_after_what_the_crew_does(landing: int) -> None:
    """On the ground the crew leaves the aircraft: no large figure of minutes is before that."""
    changed = catalogue()
    for item in changed["equipment"]:
        item["amps"] = 8.0 if item["id"] == "radio-1" else 0.0
    changed["conditions"][1]["battery-time"] = {"landing-minutes": landing}
    page = str(dict(build_site(reading(changed)).files)["early/named-failure-both.html"])
    before, crew = page.partition('class="group crew"')[0], crew_section(page)
    assert len(re.findall(rf'class="(?:of-battery|also) v v1"{MINUTES}', before)) == (landing > 0)
    after = crew.partition("the generators were off")[2]
    assert len(re.findall(rf'class="also v v1"{MINUTES}', after)) == (landing == 0)
    # In flight they are part of the answer.
    assert 'class="of-battery v v0' in before


def test_after_a_note_alone_there_is_no_other_stage() -> None:
    """Else the page would say that the crew has acted, and show the state in which it has not."""
    changed = catalogue()
    changed["failures"][0]["then"] = {"note": "Land as soon as practical."}
    pages = dict(build_site(reading(changed)).files)
    page = str(pages["early/named-failure-both.html"])
    assert "Crew has acted" not in page
    assert "Land as soon as practical." in words(crew_section(page))


def test_the_page_of_a_single_failure_says_where_the_crew_s_acts_are() -> None:
    changed = catalogue()
    changed["failures"][0] |= {"id": "first", "name": "Generator 1 lost", "failed": ["gen-1"]}
    drill = {"id": "smoke", "name": "Smoke from generator 2", "failed": ["gen-2"]}
    changed["failures"].append({**changed["failures"][0], **drill})
    pages = dict(build_site(reading(changed)).files)
    # In the views of the generator lost, not in those of it shorted.
    [(views, crew)] = re.findall(
        r'<section class="group crew([^"]*)" id="crew">(.*?)</section>',
        str(pages["early/failure-gen-1.html"]),
        re.S,
    )
    assert views == " v v0 v1"
    assert 'See <a href="named-failure-first.html">Generator 1 lost</a>.' in crew
    # A drill that fails it too is not what the crew does about it.
    assert "group crew" not in str(pages["early/failure-gen-2.html"])


def test_a_page_lists_what_is_reset_too() -> None:
    changed = catalogue()
    then = {"switches": {"gen-1-switch": "off"}, "pulled": ["cb-inverter"], "reset": ["gen-1"]}
    short = {"id": "short", "name": "Left bus short", "failed": ["left:shorted"], "then": then}
    changed["failures"].append(short)
    pages = dict(build_site(reading(changed)).files)
    text = words(crew_section(str(pages["early/named-failure-short.html"])))
    assert "Pull INV 15" in text
    assert "Reset Generator 1" in text


def test_a_page_lists_in_each_condition_what_does_something_there(pages: dict[str, str]) -> None:
    """Parked the generator's switch is off already; and what has not tripped is not reset."""
    section = crew_section(pages["early/named-failure-both.html"])
    lists = dict(re.findall(r'<div class="(v [v0-9 ]+)">(<ul class=acts>.*?</ul>)</div>', section))
    acts = {views: words(of_it.replace("</li>", ";")) for views, of_it in lists.items()}
    assert list(acts) == ["v v0 v2", "v v1 v3"]
    assert acts["v v0 v2"].startswith("Generator 1 switch: off ; Turn off Autopilot ; Pull INV")
    assert acts["v v1 v3"].startswith("Turn off Autopilot ; Pull INV")
    assert "Reset" not in section


def test_where_every_act_does_nothing_there_is_no_list() -> None:
    changed = catalogue()
    changed["failures"][0]["then"] = {"switches": {"gen-1-switch": "off"}}
    pages = dict(build_site(reading(changed)).files)
    section = crew_section(str(pages["early/named-failure-both.html"]))
    assert re.findall(r'<div class="(v [v0-9 ]+)"><ul class=acts>', section) == ["v v0 v2"]


def test_a_handout_has_the_text_of_each_condition(pages: dict[str, str]) -> None:
    page = pages["early/handout.html"]
    text = words(page[page.index('id="named-failure-both"') :].partition("</article>")[0])
    acts = "Turn off Autopilot Pull INV 15 A Pedestal A3"
    flight = f"Flight: Land as soon as practical. Generator 1 switch: off {acts}"
    parked = f"Parked on battery: Nothing to do: the generators were off. {acts}"
    assert f"The crew {flight} {parked}" in text


@pytest.mark.parametrize(
    ("condition", "note"),
    [("flight", "Land as soon as practical."), ("parked", "Nothing to do: the generators were")],
)
def test_drop_lists_what_the_crew_does_and_the_text_of_the_condition(
    tmp_path: Path, condition: str, note: str
) -> None:
    path = tmp_path / "catalogue.yaml"
    path.write_text(yaml.safe_dump(catalogue()), encoding="utf-8")
    arguments = ["drop", str(path), "both", "--after", "--condition", condition]
    output = CliRunner().invoke(commands, [*arguments, "--airframe", "early"]).output
    assert note in output
    assert (
        "The crew sets Generator 1 switch to off; turns off Autopilot; pulls INV; resets"
        " Generator 1" in output
    )


def test_a_failure_page_and_drop_say_what_they_assume_and_where_that_is_explained(
    pages: dict[str, str], tmp_path: Path
) -> None:
    assumed = (
        "clear a short at once; contactors ride through unless the catalogue says otherwise;"
        " by the wiring alone."
    )
    for page in ("failure-left", "failure-k-1", "named-failure-both"):
        text = pages[f"early/{page}.html"]
        assert f'{assumed} <a href="conditions.html#assumed">' in text
    assert 'id="assumed"' in pages["early/conditions.html"]
    assert assumed in pages["early/handout.html"]
    path = tmp_path / "catalogue.yaml"
    path.write_text(yaml.safe_dump(catalogue()), encoding="utf-8")
    output = CliRunner().invoke(commands, ["drop", str(path), "left"]).output
    assert f"{assumed} What that means: docs/answers.md, 'What the answers assume'." in output
    answers = Path(__file__).parents[2] / "docs" / "answers.md"
    assert "## What the answers assume\n" in answers.read_text(encoding="utf-8")


def in_parked() -> dict[str, Any]:
    changed = catalogue()
    [both] = changed["failures"]
    del both["notes-in"]
    both["then-in"] = {
        "parked": {"switches": {"battery-switch": "off"}, "note": "Leave the aircraft."}
    }
    return changed


def test_a_page_lists_in_a_condition_what_the_crew_does_there_alone() -> None:
    page = str(dict(build_site(reading(in_parked())).files)["early/named-failure-both.html"])
    lists = dict(re.findall(r'<div class="(v [v0-9 ]+)">(<ul class=acts>.*?</ul>)</div>', page))
    assert words(lists["v v1 v3"]) == "Battery switch: off"
    assert "Battery switch" not in lists["v v0 v2"]
    texts = dict(re.findall(r'<div class="(v [v0-9 ]+)"><p>([^<]*)</p>', crew_section(page)))
    assert texts["v v1 v3"] == "Leave the aircraft."


def test_the_live_drawing_is_told_what_the_crew_does_in_each_condition() -> None:
    page = str(dict(build_site(reading(in_parked())).files)["early/named-failure-both.html"])
    views = re.search(r'data-views="([^"]*)"', page)
    assert views
    at_once, acted = json.loads(unescape(views[1]))
    assert at_once.keys() == {"fails"}
    assert acted["then"]["shed"]
    assert acted["thenIn"] == {"1": {"switches": {"battery-switch": "off"}}}


def test_where_the_first_condition_has_no_acts_the_stage_is_told_all_the_same() -> None:
    changed = in_parked()
    del changed["failures"][0]["then"]
    page = str(dict(build_site(reading(changed)).files)["early/named-failure-both.html"])
    views = re.search(r'data-views="([^"]*)"', page)
    assert views
    _, acted = json.loads(unescape(views[1]))
    assert acted["then"] == {}
    assert acted["thenIn"]
