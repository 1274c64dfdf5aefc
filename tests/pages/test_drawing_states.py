"""How the parts of a drawing stand, in the sample net (`pages_sample`)."""

from __future__ import annotations

import json
import re
from html import unescape
from xml.etree import ElementTree

import pytest

from sitegen.answers.drop import drop
from sitegen.diagram.parts import PartKey
from sitegen.output.site import build_site
from sitegen.pages.drawing_states import as_classes, drawn_branches, parts_in_order, states
from sitegen.solver.network import Network, build
from sitegen.solver.scenarios import Fault
from tests.pages.pages_sample import reading, sample


@pytest.fixture(scope="module")
def network() -> Network:
    catalogue = reading(sample()).catalogue
    assert catalogue is not None
    return build(catalogue, "early")


def marked(network: Network, condition: str, *faults: Fault) -> dict[PartKey, str]:
    wiring = drawn_branches(network.catalogue)
    found = states(network, wiring, drop(network, condition, faults))
    return dict(zip(parts_in_order(network.nodes, wiring), found, strict=True))


def device(found: dict[PartKey, str], name: str) -> str:
    return next(s for p, s in found.items() if p.kind == "device" and p.id == name)


def wires(found: dict[PartKey, str], name: str) -> list[str]:
    return [s for p, s in found.items() if p.kind == "wire" and p.id == name]


def test_every_part_of_the_drawing_has_a_state(network: Network) -> None:
    found = marked(network, "flight")
    assert set(found.values()) <= {"live", "battery", "dead", "open"}
    # 4 sources and 5 buses, 10 devices in 8 drawn_branches, and a wire more than devices in each.
    assert len(found) == 9 + 9 + 17


def test_a_dead_bus_has_failed_and_the_wire_to_it_is_live(network: Network) -> None:
    found = marked(network, "flight", ("left", "dead"))
    assert found[PartKey("node", "left")] == "failed"
    assert wires(found, "gen-1..left") == ["live", "live"]


def test_a_diode_keeps_what_lies_before_it_dead(network: Network) -> None:
    found = marked(network, "flight", ("left", "dead"))
    assert wires(found, "left..essential") == ["dead", "dead", "live"]
    assert device(found, "cb-left") == "dead"
    assert device(found, "d-left") == "dead"


def test_a_generator_that_is_not_turning_has_a_dead_wire_up_to_its_open_contactor(
    network: Network,
) -> None:
    found = marked(network, "parked")
    assert wires(found, "gen-1..left") == ["dead", "dead"]
    assert device(found, "k-1") == "open"


def test_on_the_battery_all_that_is_live_is_on_battery_through_the_inverter_too(
    network: Network,
) -> None:
    found = marked(network, "parked")
    assert found[PartKey("node", "essential")] == "battery"
    assert found[PartKey("node", "ac")] == "battery"
    assert wires(found, "essential..inverter") == ["battery", "battery"]


def test_nothing_comes_back_out_of_a_converters_input(network: Network) -> None:
    found = marked(network, "flight", ("cb-inverter", "open"))
    assert device(found, "cb-inverter") == "failed"
    assert wires(found, "essential..inverter") == ["live", "dead"]


def test_a_contactor_stuck_closed_has_failed_and_still_conducts(network: Network) -> None:
    found = marked(network, "parked", ("k-1", "stuck-closed"))
    assert device(found, "k-1") == "failed closed"
    assert as_classes(("live", "failed closed")) == "live-0 failed-1 closed-1"


def test_a_short_has_opened_the_breaker_next_to_it_and_the_wire_behind_is_dead(
    network: Network,
) -> None:
    found = marked(network, "flight", ("essential", "shorted"))
    assert wires(found, "left..essential") == ["live", "dead", "dead"]
    assert device(found, "cb-left") == "open"
    # No protective device is between the short and the battery: nothing there has opened.
    assert found[PartKey("node", "battery")] == "dead"
    assert device(found, "k-battery") == "dead"


def test_a_short_that_no_current_can_come_back_to_opens_nothing(network: Network) -> None:
    found = marked(network, "flight", ("left", "shorted"))
    assert wires(found, "left..essential") == ["dead", "dead", "live"]
    assert device(found, "cb-left") == "dead"
    # A converter lets no short through to its input.
    found = marked(network, "flight", ("ac", "shorted"))
    assert found[PartKey("node", "inverter")] == "dead"
    assert wires(found, "essential..inverter") == ["live", "live"]


def test_a_failure_page_says_what_each_row_of_its_views_shows() -> None:
    files = dict(build_site(reading(sample())).files)
    page = files["early/failure-left.html"]
    assert isinstance(page, str)
    views = re.search(r'data-views="([^"]*)"', page)
    assert views
    assert json.loads(unescape(views[1])) == [
        {"fails": [["left", "dead"]]},
        {"fails": [["left", "shorted"]]},
    ]


def test_the_shared_style_has_rules_for_as_many_views_as_a_page_may_have() -> None:
    catalogue = sample()
    catalogue["conditions"] = [
        {**catalogue["conditions"][0], "id": f"c-{i}", "name": f"Condition {i}"} for i in range(12)
    ]
    style = dict(build_site(reading(catalogue)).files)["diagram.css"]
    assert isinstance(style, bytes)
    assert b"#view-23:checked~* .failed-23" in style
    assert b"#view-23:checked~* .v:not(.v23)" in style


def test_without_scripts_the_picture_of_each_condition_is_well_formed() -> None:
    files = dict(build_site(reading(sample())).files)
    picture, page = files["early/drawing.svg"], files["early/overview.html"]
    assert isinstance(picture, str)
    assert isinstance(page, str)
    root = ElementTree.fromstring(picture)
    places = {element.get("id") for element in root.iter() if element.get("id")}
    shown = re.findall(r'src="drawing\.svg#(\w+)"', page)
    assert places == set(shown)
    assert len(shown) == len(sample()["conditions"])
    assert "#s1:target~* .dead-1" in picture
