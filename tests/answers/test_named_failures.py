"""What a named failure does to an item or a function is said where one asks about the item."""

from __future__ import annotations

import re

import pytest

from sitegen.answers.drop import drop, faults_of
from sitegen.answers.function_status import function_status
from sitegen.answers.named_failures import NamedEffect, named_failures
from sitegen.answers.trace import trace
from sitegen.catalogue.model import Catalogue
from sitegen.output.site import build_site
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import condition_states
from sitegen.terminal.function_text import function_text
from sitegen.terminal.trace_text import trace_text
from tests.answers.test_both_answers_to_a_fault import NET, RIDES
from tests.nets import expand
from tests.pages.pages_sample import reading

FAILURES = [
    {"id": "third-short", "name": "Short on the third bus", "failed": ["third:shorted"]},
    {"id": "hold-opens", "name": "Side bus drops", "failed": ["hold"]},
    {
        "id": "engine-stops",
        "name": "The engine stops",
        "failed": ["gen"],
        "then": {"switches": {}, "shed": ["pump"]},
    },
]


def catalogue(holds: str = "") -> dict[str, object]:
    raw = expand(NET.replace("hold: {", f"hold: {{{holds}"))
    [radio] = [e for e in raw["equipment"] if e["id"] == "radio"]
    radio["supplies"] = [{"bus": "side"}, {"bus": "main"}]
    raw["conditions"].append({"id": "parked", "name": "parked", "sources": ["bat"]})
    return {**raw, "failures": FAILURES, "airframes": [{"id": "all", "name": "All"}]}


def net(holds: str = "") -> Network:
    return build(Catalogue.model_validate(catalogue(holds)), "all")


def effects(network: Network, item: str) -> set[NamedEffect]:
    return set(trace(network, item).named)


def test_an_item_that_a_named_failure_takes_says_so_with_the_condition() -> None:
    assert effects(net(), "pump") == {NamedEffect("engine-stops", "lost", ("flight",), "expected")}


def test_an_item_that_has_a_supply_left_is_reduced_by_it() -> None:
    assert NamedEffect("hold-opens", "reduced", ("flight",), "expected") in effects(net(), "radio")


def test_an_item_that_it_switches_on_says_so() -> None:
    assert NamedEffect("hold-opens", "comes_on", ("flight",), "expected") in effects(
        net(), "fire-bell"
    )


def test_what_only_the_second_answer_does_is_marked_and_only_that() -> None:
    """The short's dip drops the holding contactor; the fan on the shorted bus is lost anyway."""
    if_dropping_out = NamedEffect("third-short", "lost", ("flight",), "drop-out")
    assert if_dropping_out in effects(net(), "lamp")
    assert effects(net(), "fan") == {
        NamedEffect("third-short", "lost", ("flight",), "expected"),
        NamedEffect("engine-stops", "lost", ("flight",), "expected"),
    }
    assert not [e for e in effects(net(RIDES), "lamp") if e.answer == "drop-out"]


def test_what_drops_out_by_the_catalogue_needs_no_remark() -> None:
    expected = NamedEffect("third-short", "lost", ("flight",), "expected")
    assert expected in effects(net("rides-through: false, "), "lamp")


def test_it_is_what_drop_answers_of_each_failure_in_each_condition() -> None:
    network = net()
    found = named_failures(network, condition_states(network))
    for failure in network.catalogue.failures:
        for condition in ("flight", "parked"):
            first, second = (
                drop(network, condition, faults_of(network, failure), dip=dip)
                for dip in (False, True)
            )
            for item in network.equipment:
                said = {
                    (e.effect, e.answer)
                    for e in found.on_item(item)
                    if e.failure == failure.id and condition in e.conditions
                }
                effects = ("lost", "reduced", "comes_on")
                expected = {(e, "expected") for e in effects if item in getattr(first, e)} | {
                    (e, "drop-out")
                    for e in effects
                    if item in getattr(second, e) and item not in getattr(first, e)
                }
                assert said == expected, (failure.id, condition, item)


def test_a_function_has_what_takes_it_and_what_leaves_it_nothing_to_spare() -> None:
    raw = catalogue()
    raw["functions"] = [
        {"id": "talk", "name": "Talking", "provided-by": ["lamp", "pump"]},
        {"id": "ring", "name": "Ringing", "provided-by": ["fire-bell"]},
    ]
    network = build(Catalogue.model_validate(raw), "all")
    assert set(function_status(network, "talk").named) == {
        NamedEffect("third-short", "one-left", ("flight",), "drop-out"),
        NamedEffect("hold-opens", "one-left", ("flight",), "expected"),
        NamedEffect("engine-stops", "lost", ("flight",), "expected"),
    }
    # It has no provider with nothing failed: no failure takes it.
    assert function_status(network, "ring").named == ()


def test_a_terminal_has_a_line_for_each_effect() -> None:
    network = net()
    said = "\n".join(trace_text(network, trace(network, "radio")))
    lines = said.partition("Named failures, at once\n")[2].partition("\n\n")[0].splitlines()
    assert lines == [
        "  Short on the third bus: reduced (if contactors drop out) (in flight)",
        "  Side bus drops: reduced (in flight)",
        "  The engine stops: lost (in flight)",
    ]
    talk = "\n".join(function_text(network, function_status(network, "talk")))
    assert "Named failures, at once\n  The engine stops: lost (in flight)\n" in talk


def test_a_program_gets_the_same() -> None:
    network = net()
    effect = {
        "failure": "engine-stops",
        "effect": "lost",
        "conditions": ["flight"],
        "if_contactors_drop_out": False,
        "if_overload_opens": False,
    }
    assert trace(network, "pump").as_json(network)["named_failures"] == [effect]
    assert function_status(network, "talk").as_json(network)["named_failures"] == [effect]


@pytest.fixture(scope="module")
def pages() -> dict[str, str]:
    return {
        path.rpartition("/")[2]: content
        for path, content in build_site(reading(catalogue())).files
        if isinstance(content, str) and path.startswith("all/")
    }


def rows(page: str) -> list[tuple[str, str]]:
    """(page of the failure, what is said of it) in the list of named failures."""
    section = page.partition('id="named"')[2].partition("</details>")[0]
    return [
        (href, " ".join(re.sub("<[^>]+>", " ", text).split()))
        for href, text in re.findall(r'<li>.*?href="([^"]+)"[^>]*>(.*?)</li>', section)
    ]


def test_the_page_of_an_item_links_to_each_named_failure_that_affects_it(
    pages: dict[str, str],
) -> None:
    assert rows(pages["equipment-radio.html"]) == [
        (
            "named-failure-third-short.html",
            "Short on the third bus reduced in flight (if contactors drop out)",
        ),
        ("named-failure-hold-opens.html", "Side bus drops reduced in flight"),
        ("named-failure-engine-stops.html", "The engine stops lost in flight"),
    ]
    assert "comes on in flight" in dict(rows(pages["equipment-fire-bell.html"])).get(
        "named-failure-hold-opens.html", ""
    )


def test_the_page_of_a_function_has_them_too(pages: dict[str, str]) -> None:
    assert rows(pages["function-talk.html"]) == [
        ("named-failure-engine-stops.html", "The engine stops lost in flight")
    ]


def test_an_item_that_no_named_failure_affects_has_no_such_list() -> None:
    raw = catalogue()
    raw["failures"] = FAILURES[1:2]
    files = build_site(reading(raw)).files
    [pump] = [text for path, text in files if path.endswith("equipment-pump.html")]
    assert 'id="named"' not in str(pump)
