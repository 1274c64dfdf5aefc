"""Random nets with every feature of the format, for Hypothesis: small, and as odd as may be."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from hypothesis import strategies as st

Raw = dict[str, Any]
Draw = Callable[[st.SearchStrategy[Any]], Any]

SERIES = ("breaker", "fuse", "fuse-link", "diode", "shunt", "diode", "breaker")
SWITCHING_KINDS = ("contactor", "contactor", "relay", "switch")
SWITCHES = {"master": ["off", "on"], "transfer": ["normal", "left", "right"]}
AIRFRAMES = ["block-1", "block-2"]


@st.composite
def catalogues(draw: Draw) -> Raw:
    """A whole catalogue, as YAML would give it."""
    sources = [
        {
            "id": f"source-{i}",
            "name": f"Source {i}",
            "kind": draw(st.sampled_from(["generator", "battery", "external-power"])),
            "volts": draw(st.sampled_from([24, 28, 28.5])),
        }
        for i in range(draw(st.integers(1, 3)))
    ]
    machines = [s["id"] for s in sources]
    converters = [f"converter-{i}" for i in range(draw(st.integers(0, 2)))]
    buses = [f"bus-{i}" for i in range(draw(st.integers(1, 4)))]
    nodes = [*machines, *converters, *buses]
    moving = [f"k-{i}" for i in range(draw(st.integers(0, 4)))]
    kinds: dict[str, str] = {k: draw(st.sampled_from(SWITCHING_KINDS)) for k in moving}

    def through(most: int) -> list[str]:
        found = []
        for _ in range(draw(st.integers(0, most))):
            if moving and draw(st.booleans()):
                found.append(draw(st.sampled_from(moving)))
            else:
                found.append(f"d-{len(kinds)}")
                kinds[found[-1]] = draw(st.sampled_from(SERIES))
        return list(dict.fromkeys(found))

    for name in converters:
        inputs = [n for n in nodes if n != name]
        feeds = [
            {"bus": draw(st.sampled_from(inputs)), "through": through(1)}
            for _ in range(draw(st.integers(1, 2)))
        ]
        sources.append(
            {
                "id": name,
                "name": name,
                "kind": "converter",
                "volts": draw(st.sampled_from([26, 28, 115])),
                "fed-from": feeds if len(feeds) > 1 else feeds[0],
            }
        )
    # Every source feeds something; the rest joins any two nodes, either way.
    pair = st.lists(st.sampled_from(nodes), min_size=2, max_size=2, unique=True)
    ends = [(source, draw(st.sampled_from(buses))) for source in (*machines, *converters)]
    ends += draw(st.lists(pair.map(tuple), max_size=5))
    feeders = []
    for origin, target in ends:
        feeder: Raw = {"from": origin, "to": target, "through": through(2)}
        if draw(st.integers(0, 5)) == 5:
            feeder["fitted-to"] = [draw(st.sampled_from(AIRFRAMES))]
        feeders.append(feeder)
    equipment = _equipment(draw, nodes, moving, kinds)
    devices = [{"id": name, "name": name, "kind": kind} for name, kind in kinds.items()]
    for device in devices:
        if device["kind"] in SWITCHING_KINDS:
            device["closes-when"] = draw(terms(nodes, list(kinds)))
            if device["kind"] == "contactor":
                device["protective"] = draw(st.booleans())
    return {
        "format": 1,
        "aircraft": {"name": "A net", "revision": "1", "revised": "2026-01-01"},
        "airframes": [{"id": a, "name": a} for a in AIRFRAMES],
        "sources": sources,
        "buses": [{"id": b, "name": b} for b in buses],
        "devices": devices,
        "feeders": feeders,
        "equipment": equipment,
        "switches": [{"id": s, "name": s, "positions": p} for s, p in SWITCHES.items()],
        "conditions": [
            _condition(draw, number, machines, kinds) for number in range(draw(st.integers(1, 2)))
        ],
        "indications": [
            {"id": "volts", "name": "V", "kind": "voltmeter", "at": draw(st.sampled_from(nodes))},
            {
                "id": "lamp",
                "name": "Lamp",
                "kind": "lamp",
                "lit-when": draw(terms(nodes, list(kinds))),
                "supplies": [{"bus": draw(st.sampled_from(nodes))}],
            },
        ],
        "functions": [
            {
                "id": "function",
                "name": "Function",
                "provided-by": [e["id"] for e in equipment],
                "need": draw(st.integers(1, len(equipment))),
            }
        ],
    }


def terms(nodes: list[str], devices: list[str]) -> st.SearchStrategy[list[Raw]]:
    """One or two structures of terms, each with up to three of the five words."""
    some_nodes = st.lists(st.sampled_from(nodes), min_size=1, max_size=2, unique=True)
    words: dict[str, st.SearchStrategy[Any]] = {
        "switches": settings_of_switches(),
        "live": some_nodes,
        "dead": some_nodes,
    }
    if devices:
        some_devices = st.lists(st.sampled_from(devices), min_size=1, max_size=2, unique=True)
        words |= {"closed": some_devices, "open": some_devices}
    structure = st.lists(st.sampled_from(sorted(words)), max_size=3, unique=True).flatmap(
        lambda chosen: st.fixed_dictionaries({word: words[word] for word in chosen})
    )
    return st.lists(structure, min_size=1, max_size=2)


def settings_of_switches() -> st.SearchStrategy[Raw]:
    """Positions of some of the switches."""
    return st.fixed_dictionaries(
        {}, optional={name: st.sampled_from(places) for name, places in SWITCHES.items()}
    )


def crew_actions(catalogue: Raw) -> st.SearchStrategy[Raw]:
    """What a crew may do."""
    breakers = [d["id"] for d in catalogue["devices"] if d["kind"] == "breaker"]
    return st.fixed_dictionaries(
        {
            "switches": settings_of_switches(),
            "shed": st.lists(
                st.sampled_from([e["id"] for e in catalogue["equipment"]]), max_size=2
            ),
            "pulled": st.lists(st.sampled_from(breakers), max_size=1) if breakers else st.just([]),
        }
    )


def _equipment(draw: Draw, nodes: list[str], moving: list[str], kinds: dict[str, str]) -> list[Raw]:
    equipment: list[Raw] = []
    shared: dict[str, str] = {}
    for i in range(draw(st.integers(1, 4))):
        supplies = []
        for number in range(draw(st.integers(1, 2))):
            bus = draw(st.sampled_from(nodes))
            supply: Raw = {"bus": bus}
            behind = draw(st.sampled_from(["own", "shared", "fuse", "nothing"]))
            if behind == "own":
                supply["breaker"] = {"name": "CB", "amps": 5}
            elif behind == "fuse":
                supply["fuse"] = {"id": f"fuse-{i}-{number}", "name": "F", "amps": 5}
            elif behind == "shared":
                supply["breaker"] = shared.setdefault(bus, f"cb-{bus}")
                kinds[supply["breaker"]] = "breaker"
            if moving and draw(st.integers(0, 3)) == 3:
                supply["through"] = [draw(st.sampled_from(moving))]
            if number and draw(st.booleans()):
                supply["fitted-to"] = [draw(st.sampled_from(AIRFRAMES))]
            supplies.append(supply)
        item: Raw = {"id": f"item-{i}", "name": f"Item {i}", "ata": "24", "supplies": supplies}
        item["needs"] = draw(st.sampled_from(["any", "all"]))
        if equipment:
            earlier = st.sampled_from([e["id"] for e in equipment])
            some = st.lists(earlier, min_size=1, max_size=2, unique=True)
            item["requires"] = draw(
                st.lists(earlier | some.map(lambda found: {"any": found}), max_size=1)
            )
        equipment.append(item)
    return equipment


def _condition(draw: Draw, number: int, machines: list[str], kinds: dict[str, str]) -> Raw:
    breakers = [d for d, kind in kinds.items() if kind == "breaker"]
    coils = [d for d, kind in kinds.items() if kind in ("contactor", "relay")]
    condition: Raw = {
        "id": f"condition-{number}",
        "name": f"Condition {number}",
        "sources": draw(st.lists(st.sampled_from(machines), min_size=1, unique=True)),
        "switches": draw(settings_of_switches()),
    }
    if breakers:
        condition["pulled"] = draw(st.lists(st.sampled_from(breakers), max_size=1))
    if coils:
        condition["held-closed"] = draw(st.lists(st.sampled_from(coils), max_size=2, unique=True))
    return condition
