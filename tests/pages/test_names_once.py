"""Find and the cards of a drawing name each thing once, however often it is connected."""

from __future__ import annotations

from sitegen.pages.find_entries import entries
from sitegen.pages.part_cards import rows
from tests.nets import network
from tests.pages.pages_sample import context_of, sample


def test_a_breaker_that_two_items_share_is_in_find_once() -> None:
    catalogue = sample()
    catalogue["devices"].append({"id": "cb-pair", "name": "RADIOS", "kind": "breaker", "amps": 10})
    for item in catalogue["equipment"][:2]:
        item["supplies"] = [{"bus": "left", "breaker": "cb-pair"}]
    found = [e for e in entries(context_of(catalogue)) if e.name == "RADIOS"]
    assert [(e.href, e.detail) for e in found] == [
        ("failure-cb-pair.html", "10\u00a0A, on Left bus")
    ]


def test_nothing_is_in_find_twice() -> None:
    keys = [(e.name, e.kind, e.detail, e.href) for e in entries(context_of(sample()))]
    assert len(set(keys)) == len(keys)


TWO_BRANCHES = """
sources: {gen: 28}
buses: [main, aft]
devices: {cb-1: breaker, cb-2: breaker}
feeders: [gen > main, main > cb-1 > aft, main > cb-2 > aft]
equipment:
  fan: {supplies: [{bus: aft}, {bus: aft}]}
"""


def test_a_bus_fed_through_two_breakers_names_its_feeding_bus_once() -> None:
    net = network(TWO_BRANCHES)
    card = dict(rows(net, "aft"))
    assert card["Can be fed from"] == "main"
    assert dict(rows(net, "main"))["Can feed"] == "aft"


def test_an_item_with_two_supplies_from_a_bus_counts_once() -> None:
    assert dict(rows(network(TWO_BRANCHES), "aft"))["1 item"] == "fan"
