"""Random nets in which the crew joins buses, each fed by its own source, and one may be shorted.

What the crew closes then may trip, blow or stall what fed the rest, or overload it; relays follow
the buses and the ties, so that the acts by themselves turn something off besides.
"""

from __future__ import annotations

import json
from typing import Any

from hypothesis import strategies as st

from tests.nets import expand
from tests.random_nets import Draw, Raw

SOURCES = ("generator", "generator", "battery")
FED_THROUGH = ("", "fuse > ", "breaker > ", "k > ", "k > breaker > ", "diode > ")


@st.composite
def tied_catalogues(draw: Draw) -> Raw:
    """A row of two to four buses, with ties between neighbours that one of two switches closes."""
    count = draw(st.integers(2, 4))
    devices: dict[str, Any] = {}
    feeders = []

    def added(kind: str, **fields: Any) -> str:
        name = f"{kind}-{len(devices)}"
        amps = draw(st.sampled_from([5, 15, 40]))
        devices[name] = {"kind": kind, "amps": amps, **fields}
        if draw(st.integers(0, 3)) == 0 and kind != "diode":
            devices[name]["opens-at"] = {}
        return name

    def when(i: int) -> Any:
        bus = f"bus-{draw(st.integers(0, count - 1))}"
        tie = draw(st.sampled_from(ties))
        return draw(
            st.sampled_from(
                [
                    *({"live": [bus]}, {"dead": [bus]}, {"open": [tie]}, {"closed": [tie]}),
                    [{"live": [f"source-{i}"]}, {"closed": [tie], "live": [bus]}],
                ]
            )
        )

    ties = [
        added(
            "contactor",
            **{"closes-when": {"switches": {f"switch-{draw(st.integers(0, 1))}": "on"}}},
            protective=draw(st.integers(0, 3)) == 0,
        )
        for _ in range(count - 1)
    ]
    for i in range(count):
        way = draw(st.sampled_from(FED_THROUGH))
        through = [one for one in way.split(" > ") if one]
        for n, kind in enumerate(through):
            terms = {"closes-when": {"live": [f"source-{i}"]}} if kind == "k" else {}
            through[n] = added("contactor" if kind == "k" else kind, **terms)
        feeders.append(" > ".join([f"source-{i}", *through, f"bus-{i}"]))
    for i, tie in enumerate(ties):
        more = draw(st.sampled_from([[], [], ["breaker"], ["fuse"]]))
        feeders.append(" > ".join([f"bus-{i}", tie, *map(added, more), f"bus-{i + 1}"]))
    equipment: dict[str, Any] = {}
    for i in range(count):
        for n in range(draw(st.integers(1, 2))):
            relay = [added("relay", **{"closes-when": when(i)})] if n else []
            needs = draw(st.sampled_from([[], [], [*equipment][-1:]]))
            equipment[f"item-{i}-{n}"] = {
                "amps": draw(st.sampled_from([1, 4, 12])),
                "supplies": [{"bus": f"bus-{i}", "through": relay}],
                "requires": needs,
            }
    sources = {
        f"source-{i}": {
            "kind": draw(st.sampled_from(SOURCES)),
            "volts": draw(st.sampled_from([24, 28])),
            "amps": 40,
        }
        for i in range(count)
    }
    net = {
        "sources": sources,
        "buses": [f"bus-{i}" for i in range(count)],
        "switches": {f"switch-{n}": ["off", "on"] for n in (0, 1)},
        "devices": devices,
        "feeders": feeders,
        "equipment": equipment,
        "functions": {"function": {"provided-by": [*equipment], "need": draw(st.integers(1, 3))}},
    }
    return expand(json.dumps(net))


def crews() -> st.SearchStrategy[Raw]:
    """One or both switches set, and now and then something turned off or reset."""
    one = st.sampled_from([["switch-0"], ["switch-1"], ["switch-0", "switch-1"]])
    return st.fixed_dictionaries(
        {"switches": one.map(lambda names: dict.fromkeys(names, "on"))},
        optional={
            "shed": st.sampled_from([["item-0-0"], ["item-1-0"]]),
            "reset": st.sampled_from([["source-0"], ["source-0", "source-1"]]),
        },
    )
