"""What `loads --json` says of a small net, field by field."""

from __future__ import annotations

from sitegen.answers.loads.load_table import load_table
from tests.nets import network

NET = """
sources: {gen: {volts: 28, amps: 100}, external: {kind: external-power, volts: 28}}
buses: [main, side]
devices: {cb-side: {kind: breaker, amps: 20}}
feeders: [gen > main, external > main, main > cb-side > side]
equipment:
  lamp: {supplies: [{bus: side}], amps: 5, peak-amps: 9}
  radio: {supplies: [{bus: side}], amps: 3}
  clock: {supplies: [{bus: main}]}
conditions: {flight: {sources: [gen]}, parked: {sources: []}}
"""


def test_the_json_of_loads_has_sources_buses_devices_and_equipment() -> None:
    net = network(NET)
    found = load_table(net, "flight").as_json(net)
    nothing_failed = {"amps": 8.0, "at_least": True, "failed": [], "acted_on": None}
    assert found == {
        "airframe": "all",
        "condition": "flight",
        "failed": [],
        "dip": False,
        "overload": False,
        "sources": {
            "gen": {
                "amps": 8.0,
                "peak_amps": 12.0,
                "rated_amps": 100.0,
                "percent": 8.0,
                "margin_amps": 92.0,
                "worst": nothing_failed,
                "worst_peak": {**nothing_failed, "amps": 12.0},
            }
        },
        "buses": {"main": 0.0, "side": 8.0},
        "converters": {},
        "devices": {
            "cb-side": {
                "least_amps": 8.0,
                "most_amps": 8.0,
                "rated_amps": 20.0,
                "worst": {**nothing_failed, "at_least": False},
                "must_open_after": None,
            }
        },
        "equipment": {"lamp": 5.0, "radio": 3.0},
        "not_known": ["clock"],
        "at_least": ["gen", "main"],
        "batteries": [],
        "voltage_drops": {"feeders": [], "supplies": []},
        "sags": [],
    }


def test_the_json_of_a_failure_names_it_and_has_no_worst_case() -> None:
    net = network(NET)
    found = load_table(net, "flight", [("side", "dead")]).as_json(net)
    assert found["failed"] == [{"id": "side", "mode": "dead"}]
    assert found["buses"] == {"main": 0.0}
    assert found["devices"]["cb-side"]["least_amps"] == 0.0
    assert found["sources"]["gen"]["worst"] is None
