"""How a failure comes about: on its page, and in the handout for named failures."""

from __future__ import annotations

import json
import re

import pytest
from click.testing import CliRunner

from sitegen.cli import commands
from sitegen.output.site import build_site
from tests.answers.test_both_answers_to_a_fault import NET
from tests.nets import expand
from tests.pages.pages_sample import element, reading, sample


@pytest.fixture(scope="module")
def pages() -> dict[str, str]:
    """The sample, in which the crew turns the battery off once both generators are lost."""
    catalogue = sample()
    catalogue["failures"][0]["then"] = {"switches": {"battery-switch": "off"}}
    catalogue["handout"] = [{"id": "course", "name": "Course", "sections": ["failures"]}]
    return {p: c for p, c in build_site(reading(catalogue)).files if isinstance(c, str)}


def chains(page: str) -> dict[str, list[str]]:
    """By the classes of the views: the steps of the page's section, each with its number."""
    return {
        classes: [
            f"{number} {' '.join(re.sub('<[^>]+>', ' ', row).split()).replace(' :', ':')}"
            for number, step in re.findall(r"<li value=(\d+)>(.*?)</li>", body, re.S)
            for row in re.findall(r"<p>(.*?)</p>", step, re.S)
        ]
        for classes, body in re.findall(
            r'<div(?: class="([^"]*)")?>(.*?)</div>', element(page, "how"), re.S
        )
    }


def test_each_step_has_its_number_and_its_cause(pages: dict[str, str]) -> None:
    """The contactor of generator 1 follows what the generator makes; parked it is not on line."""
    assert chains(pages["early/failure-gen-1.html"]) == {
        # In flight, lost or shorted.
        "v v0 v2": [
            "1 Left bus: dead because of Generator 1",
            "2 Generator 1 contactor: open because of Generator 1",
        ]
    }


def test_a_short_says_what_it_opened_and_stalled(pages: dict[str, str]) -> None:
    assert chains(pages["early/failure-left.html"]) == {
        "v v2": [
            "1 Generator 1: stalled because of Left bus",
            "2 Generator 1 contactor: open because of Generator 1",
        ]
    }


def test_where_nothing_but_the_failure_opens_there_is_no_section(pages: dict[str, str]) -> None:
    assert 'id="how"' not in pages["early/failure-f-hot.html"]
    assert 'id="how"' in pages["early/failure-gen-1.html"]


def test_the_stage_of_the_crew_begins_with_what_the_failure_left(pages: dict[str, str]) -> None:
    assert chains(pages["early/named-failure-both.html"])["v v2 v3"] == [
        "1 Battery relay: open because of Battery switch",
        "1 Inverter: idle because of Battery relay",
        "1 AC bus: dead because of Inverter , Battery relay",
        "1 Essential bus: dead because of Battery relay",
    ]


def test_the_handout_has_both_chains_of_a_named_failure_and_none_of_others(
    pages: dict[str, str],
) -> None:
    page = pages["early/handout.html"]
    blocks = re.findall(r'<article class="block" id="([^"]+)">(.*?)</article>', page, re.S)
    named = dict(blocks)["named-failure-both"]
    assert "How it comes about" in named
    assert "How that comes about" in named
    assert not [i for i, text in blocks if "comes about" in text and i != "named-failure-both"]


def test_within_a_step_what_opens_comes_before_what_it_takes() -> None:
    """For people, cause before effect; the rows of `--json` stay sorted by kind and id."""
    asked = ["drop", "gen-1:shorted", "--airframe", "block-3", "--because"]
    text = CliRunner().invoke(commands, asked).output.partition("How it comes about\n")[2]
    first = [row.split(" because")[0][5:] for row in text.splitlines() if row.startswith("  2.")]
    assert first == [
        "Cabin contactor: open",
        "Utility contactor: open",
        "Cabin bus: dead",
        "Survey bus: dead",
        "Utility bus: dead",
    ]
    rows = json.loads(CliRunner().invoke(commands, [*asked, "--json"]).stdout)["because"]
    assert rows == sorted(rows, key=lambda row: (row["step"], row["kind"], row["id"]))


def test_what_comes_while_a_short_holds_the_volts_down_says_so() -> None:
    """The main bus has its volts back once the breaker of the third has tripped."""
    net = NET.replace("hold: {", "hold: {rides-through: false, ")
    raw = {**expand(net), "airframes": [{"id": "all", "name": "All"}]}
    files = dict(build_site(reading(raw)).files)
    steps = [
        step for view in chains(str(files["all/failure-third.html"])).values() for step in view
    ]
    assert "1 side: dead because of third , while the short held volts down; it stays so" in steps
    assert "2 hold: open because of main , while the short held volts down; it stays so" in steps
    assert "3 cb-3: tripped because of third" in steps
