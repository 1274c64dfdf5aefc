"""What can hurt someone is on every page, sheet and answer that names the item."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
import yaml
from click.testing import CliRunner

from sitegen.answers.airframe_answers import AirframeAnswers
from sitegen.cli import commands
from sitegen.output.site import build_site
from sitegen.quiz.facts import Facts
from sitegen.quiz.paper import make_paper
from tests.pages.pages_sample import context_of, reading, sample

HAZARDS = {
    "heater": ("Cabin heater", "Hot: it burns hands"),
    "ac": ("AC bus", "115 V AC: it kills."),
    "inverter": ("Inverter", "115 V AC at its terminals"),
}


def catalogue() -> dict[str, Any]:
    """The small sample with three hazards."""
    changed = sample()
    for section in ("sources", "buses", "equipment"):
        for record in changed[section]:
            if record["id"] in HAZARDS:
                record["hazard"] = HAZARDS[record["id"]][1]
    return changed


@pytest.fixture(scope="module")
def pages() -> dict[str, str]:
    """The pages of one airframe and the scripts that its pages read, as text."""
    texts = {p: c for p, c in build_site(reading(catalogue())).files if isinstance(c, str)}
    return {p: t for p, t in texts.items() if p.startswith("early/")}


def words(html: str) -> str:
    body = html[html.index("<main>") : html.index("</main>")] if "<main>" in html else html
    body = re.sub(r"<svg.*?</svg>", " ", body, flags=re.S)
    return " ".join(re.sub(r"<[^>]+>", " ", body).split())


ONLY_AS_A_FAILURE = {"failures", "which-failed", "equipment-autopilot", "equipment-gyro"}
"""Pages that name a bus or a source only as what may have failed."""


@pytest.mark.parametrize("item", HAZARDS)
def test_a_page_that_lists_an_item_has_its_hazard(pages: dict[str, str], item: str) -> None:
    name, hazard = HAZARDS[item]
    short = hazard.partition(":")[0]
    with_hazard = re.compile(rf"hazard(:|, {name}:) {short}|{short} \({name}\)", re.IGNORECASE)
    naming = {
        p: words(text.replace('class=hazard-sign title="', ">").replace('">!', "<"))
        for p, text in pages.items()
        if p.endswith(".html") and "/blank-" not in p and name in words(text)
    }
    assert len(naming) > 10
    missing = {p for p, text in naming.items() if not with_hazard.search(text)}
    assert missing <= {f"early/{p}.html" for p in ONLY_AS_A_FAILURE}


def test_the_page_of_an_item_has_the_whole_hazard_and_the_caution(pages: dict[str, str]) -> None:
    for page, item in (
        ("equipment-heater", "heater"),
        ("bus-ac", "ac"),
        ("failure-ac", "ac"),
        ("failure-inverter", "inverter"),
    ):
        name, hazard = HAZARDS[item]
        text = words(pages[f"early/{page}.html"])
        said = f"Hazard, {name}: {hazard.removesuffix('.')}. Work there is for licensed people, by"
        assert said in text
    assert "Hazard, " not in words(pages["early/equipment-clock.html"])


def test_the_page_of_a_device_at_a_battery_says_which_side_is_always_live(
    pages: dict[str, str],
) -> None:
    said = "Hazard, Battery side: Live whenever a charged battery is fitted. Work there is for"
    assert said in words(pages["early/failure-k-battery.html"])
    assert "Battery side and Hot bus side" in words(pages["early/failure-f-hot.html"])
    assert "side: Live" not in words(pages["early/failure-cb-left.html"])


def test_equipment_shows_the_hazard_of_its_bus(pages: dict[str, str]) -> None:
    [of_the_bus] = re.findall(
        "on AC bus ! (.*?) Upstream", words(pages["early/equipment-gyro.html"])
    )
    assert of_the_bus.endswith("Hazard: 115 V AC")


def test_a_folded_list_of_what_is_lost_has_the_sign_at_the_name(pages: dict[str, str]) -> None:
    [named] = re.findall(
        '<span class="named[^>]*>(Cabin.*?)</span>', pages["early/failure-right.html"]
    )
    assert named.startswith('Cabin heater <abbr class=hazard-sign title="Hazard: Hot')


def test_on_a_panel_a_breaker_with_a_hazard_has_a_sign_and_words(pages: dict[str, str]) -> None:
    cells = pages["early/panel-pedestal.html"].split("<td")
    [cell] = [c for c in cells if "B3, HEATER" in c]
    assert "hazard, Cabin heater: Hot: it burns hands" in cell
    assert '<i class="hazard-sign">!</i>' in cell
    [harmless] = [c for c in cells if "B8, CLOCK" in c]
    assert "hazard" not in harmless


def test_the_key_of_a_diagram_to_fill_in_has_the_hazards(pages: dict[str, str]) -> None:
    for sheet in ("blank", "blank-ac"):
        assert "AC bus Hazard: 115 V AC" in words(pages[f"early/{sheet}.html"])


def test_the_card_of_a_part_has_its_hazards(pages: dict[str, str]) -> None:
    [values, *_] = pages["early/live.js"].partition("=")[2].splitlines()
    cards = json.loads(values.rstrip(";"))["cards"]
    [ac] = [text for label, text in cards["ac"]["rows"] if label == "Hazard"]
    assert ac.startswith("115 V AC: it kills. Work there is for licensed people")
    assert ["Hazard", "Cabin heater: Hot"] in cards["right"]["rows"]
    assert "Hazard" not in {label for label, _ in cards["left"]["rows"]}


def test_the_handout_has_the_hazard_in_every_part_that_lists_the_item(
    pages: dict[str, str],
) -> None:
    page = pages["early/handout.html"]
    parts = dict(re.findall(r'<section class="topic topic-([a-z-]+)(.*?)</section>', page, re.S))
    for part in ("buses", "equipment-losses", "failures", "index"):
        assert "hazard: hot" in words(parts[part]).lower(), part


def run(tmp_path: Path, *arguments: str) -> str:
    path = tmp_path / "catalogue.yaml"
    path.write_text(yaml.safe_dump(catalogue()), encoding="utf-8")
    command, *names = arguments
    done = CliRunner().invoke(commands, [command, str(path), *names, "--airframe", "early"])
    assert done.exit_code == 0, done.output
    return done.output


def test_drop_names_the_hazard_of_what_is_lost_and_of_what_still_has_power(tmp_path: Path) -> None:
    lost, live = run(tmp_path, "drop", "right").split("Hazard, and still with power")
    assert "Hazard: Hot: it burns hands." in lost
    assert "AC bus: 115 V AC: it kills." in live
    assert "Cabin heater" not in live
    answer = json.loads(run(tmp_path, "drop", "right", "--json"))
    assert answer["hazards"]["heater"] == "Hot: it burns hands"


def test_trace_names_the_hazards_on_the_way_to_an_item(tmp_path: Path) -> None:
    text = run(tmp_path, "trace", "gyro")
    assert "AC bus: 115 V AC: it kills." in text
    assert "Inverter: 115 V AC at its terminals." in text
    assert set(json.loads(run(tmp_path, "trace", "gyro", "--json"))["hazards"]) == {
        "ac",
        "inverter",
    }
    assert "Hazard" not in run(tmp_path, "trace", "clock")


def test_the_answer_to_a_question_names_the_hazard_of_what_it_is_about() -> None:
    network = context_of(catalogue()).answers.network
    facts = Facts(AirframeAnswers(reading(catalogue()), network), (network,))
    questions = make_paper(facts, 200, "1", allow_fewer=True).questions
    about = [q for q in questions if "heater" in (*q.asks.values(), *q.answer.means.values())]
    assert about
    assert all(q.reason.endswith("Hazard, Cabin heater: Hot: it burns hands.") for q in about)
    assert not any("heater: Hot" in q.reason for q in questions if q not in about)
