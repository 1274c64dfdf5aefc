"""A small invented catalogue with answers that can be worked out by hand.

Generator 1 feeds the left main bus, generator 2 the right; each feeds the essential bus through a
breaker and a diode. The battery feeds a hot bus, and the essential bus through its relay. An
inverter on the essential bus makes 115 V AC.
"""

from __future__ import annotations

import re
from typing import Any

from sitegen.answers.airframe_answers import AirframeAnswers
from sitegen.catalogue.findings import Place
from sitegen.catalogue.model import Catalogue
from sitegen.catalogue.read import Note, ReadResult
from sitegen.catalogue.record_locations import RecordLocations
from sitegen.pages.drawings import draw_all
from sitegen.pages.fragments.names_and_rows import Fragments
from sitegen.pages.page_context import PageContext
from sitegen.solver.network import build


def words(html: str) -> str:
    """The text of a page or a part of one, without tags."""
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def element(html: str, anchor: str) -> str:
    """The element with this id, with all that is in it."""
    begin = re.search(rf'<(\w+)\b[^>]*\bid="{re.escape(anchor)}"', html)
    assert begin, anchor
    depth = 0
    for tag in re.finditer(rf"<(/?){begin[1]}\b", html[begin.start() :]):
        depth += -1 if tag[1] else 1
        if not depth:
            return html[begin.start() : begin.start() + tag.start()]
    raise AssertionError(anchor)


def modes(html: str) -> list[str]:
    """The modes of failure, or stages, that a page lets its reader choose from, in their order."""
    names = re.findall(r'<label for="view-(\d+)"><span>([^<]*)</span>', "".join(_mode_rows(html)))
    return list(dict.fromkeys(name for _, name in sorted(names, key=lambda n: int(n[0]))))


def _mode_rows(html: str) -> list[str]:
    return re.findall(r'<div class="mode-row[^"]*">(.*?)</div>', html, re.S)


def sample() -> dict[str, Any]:
    """The catalogue as an author would write it."""
    return {
        "format": 1,
        "aircraft": {
            "name": "Plover 4",
            "revision": "2",
            "revised": "2026-03-01",
            "statement": "An *invented* aircraft.",
        },
        "airframes": [
            {"id": "early", "name": "Serials 1 to 9"},
            {"id": "late", "name": "Serials 10 and after"},
        ],
        "sources": [
            {"id": "gen-1", "name": "Generator 1", "kind": "generator", "volts": 28.5, "amps": 200},
            {"id": "gen-2", "name": "Generator 2", "kind": "generator", "volts": 28.5, "amps": 200},
            {"id": "battery", "name": "Battery", "kind": "battery", "volts": 24, "amp-hours": 24},
            {
                "id": "inverter",
                "name": "Inverter",
                "kind": "converter",
                "volts": 115,
                "current": "ac",
                "fed-from": {"bus": "essential", "through": ["cb-inverter"]},
            },
        ],
        "buses": [
            {"id": "left", "name": "Left bus"},
            {"id": "right", "name": "Right bus"},
            {"id": "hot", "name": "Hot bus"},
            {"id": "essential", "name": "Essential bus"},
            {"id": "ac", "name": "AC bus", "current": "ac"},
        ],
        "devices": [
            {
                "id": "k-1",
                "name": "Generator 1 contactor",
                "kind": "contactor",
                "closes-when": {"switches": {"gen-1-switch": "on"}, "live": ["gen-1"]},
            },
            {
                "id": "k-2",
                "name": "Generator 2 contactor",
                "kind": "contactor",
                "closes-when": {"live": ["gen-2"]},
            },
            {
                "id": "k-battery",
                "name": "Battery relay",
                "kind": "relay",
                "closes-when": {"switches": {"battery-switch": "on"}},
            },
            {
                "id": "cb-left",
                "name": "ESS FEED L",
                "kind": "breaker",
                "amps": 50,
                "panel": "pedestal",
                "at": "A1",
            },
            {
                "id": "cb-right",
                "name": "ESS FEED R",
                "kind": "breaker",
                "amps": 50,
                "panel": "pedestal",
                "at": "A2",
            },
            {"id": "d-left", "name": "Left diode", "kind": "diode"},
            {"id": "d-right", "name": "Right diode", "kind": "diode"},
            {"id": "f-hot", "name": "Hot bus fuse", "kind": "fuse", "amps": 20},
            {
                "id": "cb-inverter",
                "name": "INV",
                "kind": "breaker",
                "amps": 15,
                "panel": "pedestal",
                "at": "A3",
            },
        ],
        "feeders": [
            {"from": "gen-1", "to": "left", "through": ["k-1"]},
            {"from": "gen-2", "to": "right", "through": ["k-2"]},
            {"from": "battery", "to": "hot", "through": ["f-hot"]},
            {"from": "left", "to": "essential", "through": ["cb-left", "d-left"]},
            {"from": "right", "to": "essential", "through": ["cb-right", "d-right"]},
            {"from": "battery", "to": "essential", "through": ["k-battery"]},
            {"from": "inverter", "to": "ac"},
        ],
        "switches": [
            {"id": "gen-1-switch", "name": "Generator 1 switch", "positions": ["off", "on"]},
            {"id": "battery-switch", "name": "Battery switch", "positions": ["off", "on"]},
        ],
        "panels": [
            {
                "id": "pedestal",
                "name": "Pedestal",
                "where": "between the seats",
                "rows": ["A", "B"],
                "columns": 12,
            }
        ],
        "equipment": [
            _item("radio-1", "Radio 1", "23-12", [("essential", "RADIO 1", 7.5, "B1")])
            | {"on-loss": "Use **Radio 2**."},
            _item("radio-2", "Radio 2", "23-12", [("left", "RADIO 2", 7.5, "B2")]),
            _item("heater", "Cabin heater", "21-40", [("right", "HEATER", 20, "B3")]),
            _item(
                "fan",
                "Avionics fan",
                "21-27",
                [("left", "FAN L", 5, "B4"), ("right", "FAN R", 5, "B5")],
            ),
            _item("gyro", "Attitude gyro", "34-21", [("ac", "GYRO", 2, "B6")]),
            _item("autopilot", "Autopilot", "22-10", [("essential", "AP", 5, "B7")])
            | {"requires": ["gyro"]},
            _item("clock", "Clock", "31-21", [("hot", "CLOCK", 1, "B8")]),
            _item("late-lamp", "Reading lamp", "33-20", [("right", "LAMP", 3, "B9")])
            | {"fitted-to": ["late"]},
        ],
        "conditions": [
            {
                "id": "flight",
                "name": "Flight",
                "sources": ["gen-1", "gen-2", "battery"],
                "switches": {"gen-1-switch": "on", "battery-switch": "on"},
            },
            {
                "id": "parked",
                "name": "Parked on battery",
                "sources": ["battery"],
                "switches": {"battery-switch": "on"},
            },
        ],
        "failures": [
            {
                "id": "both",
                "name": "Both generators lost",
                "failed": ["gen-1", "gen-2"],
                "then": {
                    "switches": {"gen-1-switch": "off"},
                    "shed": ["autopilot"],
                    "note": "Land as soon as practical.",
                },
            }
        ],
        "indications": [
            {"id": "left-volts", "name": "Left voltmeter", "kind": "voltmeter", "at": "left"},
            {
                "id": "gen-1-lamp",
                "name": "GEN 1 lamp",
                "kind": "lamp",
                "lit-when": {"open": ["k-1"]},
                "supplies": [
                    {
                        "bus": "essential",
                        "breaker": {"name": "WARN", "amps": 2, "panel": "pedestal", "at": "B10"},
                    }
                ],
            },
        ],
        "functions": [
            {
                "id": "talking",
                "name": "Talking by radio",
                "provided-by": ["radio-1", "radio-2"],
                "essential": True,
            }
        ],
    }


def _item(
    item: str, name: str, ata: str, supplies: list[tuple[str, str, float, str]]
) -> dict[str, Any]:
    return {
        "id": item,
        "name": name,
        "ata": ata,
        "supplies": [
            {
                "bus": bus,
                "breaker": {"name": placard, "amps": amps, "panel": "pedestal", "at": place},
            }
            for bus, placard, amps, place in supplies
        ],
    }


def reading(catalogue: dict[str, Any], notes: dict[str, str] | None = None) -> ReadResult:
    """The catalogue as if it had been read from files without a finding."""
    found = tuple(
        Note(i, text.split("\n")[0].lstrip("# ") or i, text, Place(f"notes/{i}.md"))
        for i, text in (notes or {}).items()
    )
    return ReadResult(Catalogue.model_validate(catalogue), (), found, RecordLocations())


def context_of(
    catalogue: dict[str, Any], airframe: str = "early", notes: dict[str, str] | None = None
) -> PageContext:
    """What the pages of an airframe are made from."""
    made = reading(catalogue, notes)
    assert made.catalogue is not None
    network = build(made.catalogue, airframe)
    (pictures,), _ = draw_all([network])
    return PageContext(
        AirframeAnswers(made, network), Fragments(network, tuple(notes or ())), pictures, {}
    )
