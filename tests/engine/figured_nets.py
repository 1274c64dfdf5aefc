"""Random nets in which everything has figures, some of them left out: for Hypothesis."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from tests.answers.test_loads import put_on_load
from tests.random_nets import Draw, Raw, catalogues, hard_catalogues

# Some of it rounds up to what a breaker of 5 A may, or must, open at.
AMPS = st.sampled_from([7, 2.5, 40, 0.3, 1, 0, 33.33, 0.001, 5.745, 6.895, 6.894])
COLUMNS = ("cruise", "approach", "landing")


@st.composite
def figured(draw: Draw) -> Raw:
    """Any random net, with ratings, loads, meters, ranges of volts and amp-hours."""
    catalogue: Raw = draw(catalogues() | catalogues(busy=True) | hard_catalogues())
    amps = AMPS | st.fixed_dictionaries({}, optional=dict.fromkeys(COLUMNS, AMPS)) | AMPS
    odd = draw(st.booleans())

    def some(values: st.SearchStrategy[Any]) -> Any:
        return draw(values if not odd else values | st.none())

    for source in catalogue["sources"]:
        _source(draw, source, odd)
    for device in catalogue["devices"]:
        device["amps"] = some(st.sampled_from([1, 5, 7.5, 20]))
        if draw(st.integers(0, 3)) == 0:
            device["opens-at"] = draw(st.sampled_from([{"may": 1.05, "must": 1.25}, {"must": 2}]))
    for item in catalogue["equipment"]:
        item["amps"] = some(amps)
        item["load"] = draw(st.sampled_from(["constant-current", "constant-power", "resistive"]))
        if item["needs"] == "all" and draw(st.booleans()):
            for supply in item["supplies"]:
                supply["amps"] = some(amps)
    if draw(st.integers(0, 2)):
        catalogue["aircraft"]["load-volts"] = draw(st.sampled_from([28, 27.5]))
    catalogue["load-columns"] = [{"id": c, "name": c} for c in COLUMNS]
    catalogue["battery-time"] = draw(battery_times())
    for condition in catalogue["conditions"]:
        condition["loads"] = draw(st.sampled_from(["cruise", "approach", None]))
        condition["battery-time"] = draw(st.sampled_from([True, False]) | battery_times())
    if draw(st.integers(0, 2)):
        put_on_load(draw, catalogue)
    _meters(draw, catalogue)
    return catalogue


def battery_times() -> st.SearchStrategy[Raw]:
    """What may be asked of batteries; some of it is left to the defaults."""
    return st.fixed_dictionaries(
        {},
        optional={
            "required-minutes": st.sampled_from([30, 60, 0.5]),
            "recognition-minutes": st.sampled_from([0, 5, 2.5]),
            "landing-minutes": st.sampled_from([0, 10]),
            "landing-column": st.just("landing"),
            "usable": st.sampled_from([0.75, 1, 0.333]),
        },
    )


def _source(draw: Draw, source: Raw, odd: bool) -> None:
    if draw(st.integers(0, 2)):
        source["amps"] = draw(st.sampled_from([100, 50, 5, 33.3]))
        source["amps-5min"] = draw(st.sampled_from([None, 120]))
        source["amps-5s"] = draw(st.sampled_from([None, 200]))
    if source["kind"] == "converter":
        source["efficiency"] = draw(st.sampled_from([0.5, 0.8, 1.0]))
        return
    # Volts that are the same, or within half a volt, so that sources share.
    source["volts"] = draw(st.sampled_from([24, 28, 28.4, source["volts"]]))
    if draw(st.booleans()):
        source["kind"] = "battery"
    if draw(st.integers(0, 2)) == 0:
        low, high = draw(st.sampled_from([(0.5, 0), (2, 1.2), (0, 6.25), (0.4999, 0)]))
        source["volts-range"] = [max(0.001, source["volts"] - low), source["volts"] + high]
    if source["kind"] == "battery":
        source["amp-hours"] = draw(st.sampled_from([0.2, 1, 5, 17.5, 40, *([None] if odd else [])]))
        source["charge-amps"] = draw(st.sampled_from([None, [0, 60], [5, 40], [10, 10]]))
        source["battery-time"] = draw(st.none() | battery_times())
        source["usable"] = draw(st.sampled_from([None, 0.5]))


def _meters(draw: Draw, catalogue: Raw) -> None:
    """At every node a voltmeter and a lamp with a limit, at every source and device a meter."""
    nodes = [record["id"] for record in (*catalogue["sources"], *catalogue["buses"])]
    places = [record["id"] for record in (*catalogue["sources"], *catalogue["devices"])]
    for number, at in enumerate([*nodes, *places]):
        volts = number < len(nodes)
        kind = "voltmeter" if volts else draw(st.sampled_from(["loadmeter", "ammeter"]))
        meter: Raw = {"id": f"meter-{number}", "name": f"M{number}", "kind": kind, "at": at}
        if draw(st.integers(0, 5)) == 0:
            meter["supplies"] = [{"bus": draw(st.sampled_from(nodes))}]
        catalogue["indications"].append(meter)
        if volts:
            side = draw(st.sampled_from(["volts-above", "volts-below"]))
            limit = {side: {at: draw(st.sampled_from([22, 24, 24.5, 28, 28.5]))}}
            lamp = {**meter, "id": f"lamp-{number}", "name": f"L{number}", "kind": "lamp"}
            del lamp["at"]
            catalogue["indications"].append({**lamp, "lit-when": limit})
