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
LIVE_DEAD, CLOSED_OPEN = ("live", "dead"), ("closed", "open")
AIRFRAMES = ["block-1", "block-2"]


@st.composite
def catalogues(draw: Draw, busy: bool = False) -> Raw:
    """A whole catalogue, as YAML would give it.

    In a busy one most feeders have a contactor or relay, and these follow buses and each other:
    several rounds or passes, and chatter, are common there.
    """
    sources = [
        {
            "id": f"source-{i}",
            "name": f"Source {i}",
            "kind": draw(st.sampled_from(["generator", "battery", "external-power"])),
            "volts": draw(st.sampled_from([24, 28, 28.5, 27.9995, 0.5])),
            "current": draw(st.sampled_from(["dc", "dc", "dc", "ac"])),
        }
        for i in range(draw(st.integers(2 if busy else 1, 3)))
    ]
    machines = [s["id"] for s in sources]
    converters = [f"converter-{i}" for i in range(draw(st.integers(0, 2)))]
    buses = [f"bus-{i}" for i in range(draw(st.integers(3 if busy else 1, 5 if busy else 4)))]
    nodes = [*machines, *converters, *buses]
    moving = [f"k-{i}" for i in range(draw(st.integers(3 if busy else 0, 6 if busy else 4)))]
    kinds: dict[str, str] = {k: draw(st.sampled_from(SWITCHING_KINDS)) for k in moving}

    def through(most: int) -> list[str]:
        found = []
        for _ in range(draw(st.integers(0, most))):
            if moving and draw(st.integers(0, 3)) < (3 if busy else 2):
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
                "current": draw(st.sampled_from(["dc", "ac"])),
                "fed-from": feeds if len(feeds) > 1 else feeds[0],
            }
        )
    for source in sources:
        if source["current"] == "ac" and draw(st.booleans()):
            source["synchronised"] = draw(st.sampled_from(["pair", "other"]))
    # Every source feeds something; the rest joins any two nodes, either way.
    pair = st.lists(st.sampled_from(nodes), min_size=2, max_size=2, unique=True)
    ends = [(source, draw(st.sampled_from(buses))) for source in (*machines, *converters)]
    ends += draw(st.lists(pair.map(tuple), min_size=3 if busy else 0, max_size=6 if busy else 5))
    feeders = []
    for origin, target in ends:
        feeder: Raw = {"from": origin, "to": target, "through": through(2)}
        if draw(st.integers(0, 5)) == 5:
            feeder["fitted-to"] = [draw(st.sampled_from(AIRFRAMES))]
        feeders.append(feeder)
    equipment = _equipment(draw, nodes, moving, kinds)
    devices = [{"id": name, "name": name, "kind": kind} for name, kind in kinds.items()]
    latched: list[str] = []
    for device in devices:
        if device["kind"] in SWITCHING_KINDS:
            device["closes-when"] = draw(
                simple_terms(buses, moving) if busy else terms(nodes, list(kinds))
            )
            if device["kind"] != "switch" and draw(st.integers(0, 2)) == 0:
                # A latch: once closed it holds itself while its coil has volts.
                latched.append(device["id"])
                device["closes-when"] = [
                    {"closed": [device["id"]], "live": [draw(st.sampled_from(buses))]}
                ]
            if device["kind"] in ("contactor", "relay"):
                device["protective"] = draw(st.booleans())
            if (rides := draw(st.integers(0, 5))) < 2:
                device["rides-through"] = bool(rides)
        if device["kind"] == "diode" and draw(st.booleans()):
            device["drop-volts"] = draw(st.sampled_from([0, 0.5, 1, 2]))
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
            _condition(draw, number, machines, kinds, latched)
            for number in range(draw(st.integers(1, 2)))
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
            },
            {
                "id": "nested",
                "name": "Nested",
                "provided-by": draw(st.lists(providers(equipment), min_size=1, max_size=3)),
                "need": draw(st.integers(1, 2)),
            },
        ],
    }


@st.composite
def hard_catalogues(draw: Draw) -> Raw:
    """A busy net with more of what is hard to get right, each part of it in half of the nets.

    A hub is joined to several buses by contactors that follow each other, some of them protective.
    Buses are fed, or else joined to a dead end, as relays say that follow those buses: with a short
    on the end, passes repeat. Relays chatter only while what is before them in a chain is at rest.
    Two converters feed each other's input. Two buses feed a third through a diode each.
    """
    catalogue: Raw = draw(catalogues(busy=True))
    buses = [b["id"] for b in catalogue["buses"]]
    devices, feeders = catalogue["devices"], catalogue["feeders"]
    condition = catalogue["conditions"][0]
    moving = [d["id"] for d in devices if d["kind"] in SWITCHING_KINDS]

    def add(kind: str, **fields: Any) -> str:
        name = f"{kind}-{len(devices)}"
        devices.append({"id": name, "name": name, "kind": kind, **fields})
        return name

    def join(origin: str, target: str, *through: str) -> None:
        feeders.append({"from": origin, "to": target, "through": list(through)})

    def close(device: str, chances: int) -> None:
        if not draw(st.integers(0, chances)):
            condition["held-closed"] = [*condition.get("held-closed", []), device]

    def switching(name: str, terms: list[Raw], **fields: Any) -> None:
        device: Raw = {"id": name, "name": name, "kind": "relay", "closes-when": terms}
        devices.append({**device, **fields})

    if draw(st.booleans()):
        catalogue["buses"].append({"id": "hub", "name": "hub"})
        contactors = [f"hub-{i}" for i in range(draw(st.integers(2, 5)))]
        for contactor in contactors:
            closes = draw(simple_terms([*buses, "hub"], [*contactors, *moving[:2]]))
            switching(contactor, closes, protective=not draw(st.integers(0, 2)))
            close(contactor, 3)
            ends = ["hub", draw(st.sampled_from(buses))]
            join(*ends[:: draw(st.sampled_from([1, -1]))], contactor)
            if draw(st.booleans()):
                join(draw(st.sampled_from(catalogue["sources"]))["id"], ends[1])
    if draw(st.booleans()):
        fed_from = catalogue["sources"][0]["id"]
        ends = [f"end-{i}" for i in range(draw(st.integers(2, 4)))]
        catalogue["buses"] += [{"id": bus, "name": bus} for bus in (*ends, "end", "start")]
        join(fed_from, "start")
        # With nothing drawn below, a short on the end is reached by one bus and the other in turn.
        relays = ["r-0", "r-1"][: draw(st.sampled_from([1, 1, 2]))]
        for relay in relays:
            latch = {"closed": [relay], "dead": [ends[0]]}
            closes = [{"live": ["start"]}, {"live": [ends[1]]}, latch]
            if not draw(st.integers(0, 2)):
                closes[draw(st.integers(0, 2))] = draw(simple_terms(ends, relays))[0]
            switching(relay, closes)
        condition["held-closed"] = [*condition.get("held-closed", []), *relays]
        for number, bus in enumerate(ends):
            turned = number % 2 if number < 2 else draw(st.integers(0, 1))
            word, other = CLOSED_OPEN[:: -1 if turned else 1]
            relay = draw(st.sampled_from(relays))
            switching(f"on-{number}", [{word: [relay]}])
            switching(f"off-{number}", [{other: [relay]}])
            condition["held-closed"].append(f"{'on' if word == 'closed' else 'off'}-{number}")
            join(fed_from, bus, f"on-{number}")
            join(bus, "end", f"off-{number}")
    if not draw(st.integers(0, 3)):
        before = {"dead": [draw(st.sampled_from(buses))]}
        for i in range(draw(st.integers(2, 3))):
            starts, follows, holds = f"c-{i}", f"e-{i}", f"h-{i}"
            switching(starts, [{**before, "open": [starts, *before.get("open", [])]}])
            switching(follows, [{"closed": [starts]}])
            switching(holds, [{"closed": [starts]}, {"closed": [follows]}])
            condition["held-closed"] = [*condition.get("held-closed", []), holds]
            join(
                *draw(st.lists(st.sampled_from(buses), min_size=2, max_size=2, unique=True)), starts
            )
            before = {"open": [holds]}
    if draw(st.booleans()):
        first, second = draw(st.lists(st.sampled_from(buses), min_size=2, max_size=2, unique=True))
        for name, fed_from, feeds in (("ring-a", first, second), ("ring-b", second, first)):
            source: Raw = {"id": name, "name": name, "kind": "converter", "current": "dc"}
            through = [add("breaker")] if draw(st.booleans()) else []
            source["volts"] = draw(st.sampled_from([26, 28, 30]))
            source["fed-from"] = {"bus": fed_from, "through": through}
            catalogue["sources"].append(source)
            join(name, feeds, *([add("diode")] if draw(st.booleans()) else []))
    if draw(st.booleans()):
        fed = draw(st.sampled_from(buses))
        for bus in draw(st.lists(st.sampled_from(buses), min_size=2, max_size=2)):
            if bus != fed:
                drop = draw(st.sampled_from([0.3, 0.7, 1]))
                kind = draw(st.sampled_from(["breaker", "fuse-link", "shunt"]))
                join(bus, fed, add(kind), add("diode", **{"drop-volts": drop}))
    return catalogue


def providers(equipment: list[Raw]) -> st.SearchStrategy[Any]:
    """A provider of a function: a piece of equipment, or a group of providers."""
    one = st.sampled_from([e["id"] for e in equipment])
    return st.recursive(
        one,
        lambda members: (
            st.fixed_dictionaries(
                {"any": st.lists(members, min_size=1, max_size=3)},
                optional={"need": st.integers(1, 2)},
            )
            | st.fixed_dictionaries({"all": st.lists(members, min_size=1, max_size=3)})
        ),
        max_leaves=5,
    )


def terms(nodes: list[str], devices: list[str]) -> st.SearchStrategy[list[Raw]]:
    """One or two closing conditions, each with up to three of the seven words."""
    some_nodes = st.lists(st.sampled_from(nodes), min_size=1, max_size=2, unique=True)
    words: dict[str, st.SearchStrategy[Any]] = {
        "switches": settings_of_switches(),
        "live": some_nodes,
        "dead": some_nodes,
        "volts-above": limits(nodes),
        "volts-below": limits(nodes),
    }
    if devices:
        some_devices = st.lists(st.sampled_from(devices), min_size=1, max_size=2, unique=True)
        words |= {"closed": some_devices, "open": some_devices}
    structure = st.lists(st.sampled_from(sorted(words)), max_size=3, unique=True).flatmap(
        lambda chosen: st.fixed_dictionaries({word: words[word] for word in chosen})
    )
    return st.lists(structure, min_size=1, max_size=2)


def simple_terms(buses: list[str], moving: list[str]) -> st.SearchStrategy[list[Raw]]:
    """One or two closing conditions, each of one or two buses or switching devices."""
    one = st.one_of(
        *(st.fixed_dictionaries({word: st.sampled_from(buses).map(_alone)}) for word in LIVE_DEAD),
        *(
            st.fixed_dictionaries({word: st.sampled_from(moving).map(_alone)})
            for word in CLOSED_OPEN
        ),
    )
    both = st.tuples(one, one).map(lambda pair: {**pair[0], **pair[1]})
    return st.lists(one | both, min_size=1, max_size=2)


def limits(nodes: list[str]) -> st.SearchStrategy[Raw]:
    """Volts for one or two nodes, near to what they may show."""
    volts = st.sampled_from([0, 0.001, 23.3, 24, 27.3, 27.9994, 28, 28.5, 100])
    return st.dictionaries(st.sampled_from(nodes), volts, min_size=1, max_size=2)


def settings_of_switches() -> st.SearchStrategy[Raw]:
    """Positions of some of the switches."""
    return st.fixed_dictionaries(
        {}, optional={name: st.sampled_from(places) for name, places in SWITCHES.items()}
    )


def crew_actions(catalogue: Raw) -> st.SearchStrategy[Raw]:
    """What a crew may do."""
    breakers = [d["id"] for d in catalogue["devices"] if d["kind"] == "breaker"]
    can_be_reset = [s["id"] for s in catalogue["sources"]] + [
        d["id"]
        for d in catalogue["devices"]
        if d["kind"] in ("breaker", "contactor", "relay", "fuse")
    ]
    return st.fixed_dictionaries(
        {
            "switches": settings_of_switches(),
            "shed": st.lists(
                st.sampled_from([e["id"] for e in catalogue["equipment"]]), max_size=2
            ),
            "pulled": st.lists(st.sampled_from(breakers), max_size=1) if breakers else st.just([]),
            "reset": st.lists(st.sampled_from(can_be_reset), max_size=3, unique=True)
            | st.just(can_be_reset),
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
        if draw(st.integers(0, 2)) == 0:
            item["min-volts"] = draw(st.sampled_from([0.5, 23.5, 24, 27.5, 28]))
        if equipment:
            earlier = st.sampled_from([e["id"] for e in equipment])
            some = st.lists(earlier, min_size=1, max_size=2, unique=True)
            item["requires"] = draw(
                st.lists(earlier | some.map(lambda found: {"any": found}), max_size=1)
            )
        equipment.append(item)
    return equipment


def _condition(
    draw: Draw, number: int, machines: list[str], kinds: dict[str, str], latched: list[str]
) -> Raw:
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
        held = draw(st.lists(st.sampled_from(coils), max_size=2, unique=True))
        condition["held-closed"] = list(dict.fromkeys([*held, *latched]))
    return condition


def _alone(one: str) -> list[str]:
    return [one]
