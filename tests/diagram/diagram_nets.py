"""Invented catalogues to draw: a small aircraft like a textbook's, and made-up nets of any size."""

from __future__ import annotations

import random
from typing import Any

from sitegen.catalogue.model import Catalogue


def catalogue(**sections: Any) -> Catalogue:
    """A catalogue with the sections given and the least of everything else."""
    base = {
        "format": 1,
        "aircraft": {"name": "Trial", "revision": "1", "revised": "2026-01-01"},
        "conditions": [{"id": "cruise", "name": "Cruise", "sources": []}],
    }
    return Catalogue.model_validate({**base, **sections})


def device(id_: str, name: str, kind: str, amps: float | None = None) -> dict[str, Any]:
    """One device's record."""
    record: dict[str, Any] = {"id": id_, "name": name, "kind": kind}
    if amps is not None:
        record["amps"] = amps
    if kind in ("contactor", "relay", "switch"):
        record["closes-when"] = {"live": []}
    return record


def feeder(start: str, end: str, *through: str, tie: bool = False) -> dict[str, Any]:
    """One feeder's record."""
    return {"from": start, "to": end, "through": list(through), "tie": tie}


def twin() -> Catalogue:
    """Two generators, a centre bus, an essential bus fed three ways, two inverters."""
    return catalogue(
        sources=[
            {"id": "gen-1", "name": "Generator 1", "kind": "generator", "volts": 28.5, "amps": 300},
            {"id": "ext", "name": "External power", "kind": "external-power", "volts": 28},
            {
                "id": "battery",
                "name": "Main battery",
                "kind": "battery",
                "volts": 24,
                "amp-hours": 40,
            },
            {"id": "gen-2", "name": "Generator 2", "kind": "generator", "volts": 28.5, "amps": 300},
            {"id": "aux", "name": "Aux battery", "kind": "battery", "volts": 24, "amp-hours": 5},
            {
                "id": "inv-1",
                "name": "Inverter 1",
                "kind": "converter",
                "volts": 115,
                "current": "ac",
                "amps": 2.2,
                "fed-from": {"bus": "essential", "through": ["cb-inv-1"]},
            },
            {
                "id": "inv-2",
                "name": "Inverter 2",
                "kind": "converter",
                "volts": 26,
                "current": "ac",
                "amps": 9,
                "fed-from": {"bus": "essential", "through": ["cb-inv-2"]},
            },
        ],
        buses=[
            {"id": "left-main", "name": "Left main bus"},
            {"id": "centre", "name": "Centre bus"},
            {"id": "right-main", "name": "Right main bus"},
            {"id": "hot", "name": "Hot battery bus"},
            {"id": "essential", "name": "Essential bus"},
            {"id": "cabin", "name": "Cabin bus"},
            {"id": "avionics-1", "name": "Avionics bus 1"},
            {"id": "avionics-2", "name": "Avionics bus 2"},
            {"id": "survey", "name": "Survey bus"},
            {"id": "standby", "name": "Standby bus"},
            {"id": "ac-115", "name": "115 V AC bus", "current": "ac"},
            {"id": "ac-26", "name": "26 V AC bus", "current": "ac"},
        ],
        devices=[
            device("k-gen-1", "Generator 1 line contactor", "contactor"),
            device("k-gen-2", "Generator 2 line contactor", "contactor"),
            device("k-bat", "Battery contactor", "contactor"),
            device("k-ext", "External power contactor", "contactor"),
            device("fl-hot", "Hot bus fuse", "fuse", 20),
            device("fl-left", "Left fuse link", "fuse-link", 250),
            device("fl-right", "Right fuse link", "fuse-link", 250),
            device("cb-ess-l", "ESS L", "breaker", 50),
            device("cb-ess-c", "ESS C", "breaker", 40),
            device("cb-ess-r", "ESS R", "breaker", 50),
            device("d-ess-l", "Diode L", "diode"),
            device("d-ess-c", "Diode C", "diode"),
            device("d-ess-r", "Diode R", "diode"),
            device("k-cabin", "Cabin relay", "relay"),
            device("fl-cabin", "Cabin link", "fuse-link", 80),
            device("k-av-2", "Avionics 2 switch", "switch"),
            device("cb-av-2", "AVIONICS 2", "breaker", 35),
            device("k-survey", "Survey relay", "relay"),
            device("fl-survey", "Survey link", "fuse-link", 60),
            device("sh-survey", "Survey shunt", "shunt"),
            device("cb-inv-1", "INV 1", "breaker", 15),
            device("cb-inv-2", "INV 2", "breaker", 15),
            device("k-av-1", "Avionics 1 switch", "switch"),
            device("cb-stby", "STBY", "breaker", 5),
            device("d-stby", "Standby diode", "diode"),
            device("cb-aux", "AUX BAT", "breaker", 5),
        ],
        feeders=[
            feeder("gen-1", "left-main", "k-gen-1"),
            feeder("ext", "centre", "k-ext"),
            feeder("battery", "centre", "k-bat"),
            feeder("battery", "hot", "fl-hot"),
            feeder("gen-2", "right-main", "k-gen-2"),
            feeder("left-main", "centre", "fl-left", tie=True),
            feeder("centre", "right-main", "fl-right", tie=True),
            feeder("left-main", "essential", "cb-ess-l", "d-ess-l"),
            feeder("centre", "essential", "cb-ess-c", "d-ess-c"),
            feeder("right-main", "essential", "cb-ess-r", "d-ess-r"),
            feeder("left-main", "cabin", "k-cabin", "fl-cabin"),
            feeder("right-main", "avionics-2", "k-av-2", "cb-av-2"),
            feeder("right-main", "survey", "k-survey", "fl-survey", "sh-survey"),
            feeder("essential", "avionics-1", "k-av-1"),
            feeder("essential", "standby", "cb-stby", "d-stby"),
            feeder("aux", "standby", "cb-aux"),
            feeder("inv-1", "ac-115"),
            feeder("inv-2", "ac-26"),
        ],
    )


def made_up(buses: int, seed: int) -> Catalogue:
    """A net of so many buses, wired at random but like an aircraft: mains, then lower bars."""
    dice = random.Random(seed)
    kinds = ["breaker", "fuse", "fuse-link", "contactor", "relay", "switch", "diode", "shunt"]
    devices: list[dict[str, Any]] = []

    def through(most: int) -> list[str]:
        made = []
        for _ in range(dice.randint(0 if dice.random() < 0.2 else 1, most)):
            k = len(devices)
            kind = dice.choice(kinds)
            name = dice.choice(
                ["CB", "FEED", "Line contactor", "Bus feed diode", "AVIONICS MASTER"]
            )
            devices.append(device(f"d-{k}", f"{name} {k}", kind, dice.choice([None, 5, 7.5, 250])))
            made.append(f"d-{k}")
        return made

    mains = max(2, buses // 5)
    sources: list[dict[str, Any]] = [
        {"id": f"s-{k}", "name": f"{kind.capitalize()} {k}", "kind": kind, "volts": 28, "amps": 200}
        for k, kind in enumerate(
            dice.choices(["generator", "battery", "external-power"], k=mains + 1)
        )
    ]
    names = ["Main bus", "Essential bus", "Avionics bus", "Cabin and galley bus", "Bus"]
    bars = [{"id": f"b-{k}", "name": f"{dice.choice(names)} {k}"} for k in range(buses)]
    feeders = [feeder(f"s-{k}", f"b-{k % mains}", *through(2)) for k in range(mains + 1)]
    feeders += [feeder(f"b-{k}", f"b-{k + 1}", *through(1), tie=True) for k in range(mains - 1)]
    for k in range(mains, buses):
        for parent in sorted({dice.randrange(k) for _ in range(dice.choice([1, 1, 1, 2, 3]))}):
            feeders.append(feeder(f"b-{parent}", f"b-{k}", *through(3)))
    if buses > 4:
        feeders.append(feeder(f"s-{mains}", f"b-{buses - 1}", *through(1)))
        feeders.append(feeder(f"b-{buses - 1}", "b-0", *through(1)))
        sources.append(
            {
                "id": "inv",
                "name": "Inverter",
                "kind": "converter",
                "volts": 115,
                "current": "ac",
                "fed-from": [{"bus": "b-0", "through": through(1)}, {"bus": "b-1", "through": []}],
            }
        )
        bars.append({"id": "ac", "name": "AC bus", "current": "ac"})
        feeders.append(feeder("inv", "ac", *through(1)))
    return catalogue(sources=sources, buses=bars, devices=devices, feeders=feeders)


def long_named(net: Catalogue) -> Catalogue:
    """The same net with names as long as an author might give."""
    told = net.model_dump(by_alias=True, exclude_none=True)
    for section, more in (
        ("sources", "of the right-hand engine"),
        ("buses", "for communication and navigation"),
        ("devices", "of the electro-hydraulic power pack"),
    ):
        for k, record in enumerate(told[section]):
            if k % 3 != 1:
                record["name"] = f"{record['name']} {more}"
    return Catalogue.model_validate(told)
