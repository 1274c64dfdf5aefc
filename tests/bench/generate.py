"""Generated nets and catalogues for the benches: the same for the same numbers."""

from __future__ import annotations

import random
from typing import Any

from sitegen.catalogue.model import Catalogue


def net(buses: int, devices: int, seed: int = 19) -> Catalogue:
    """A meshed net of buses behind breakers, two generators and a battery, one item a bus.

    Parameters
    ----------
    buses : how many.
    devices : how many breakers in feeders; at least one a bus, the rest are cross feeders.
    seed : of the random choices.
    """
    chance = random.Random(seed)
    ids = [f"bus-{i}" for i in range(buses)]
    feeders: list[dict[str, Any]] = []
    for i, bus in enumerate(ids):
        origin = (
            ("gen-1", "gen-2", "battery")[i] if i < 3 else chance.choice(ids[max(0, i - 12) : i])
        )
        feeders.append({"from": origin, "to": bus, "through": [f"cb-{i}"]})
    for i in range(buses, devices):
        one, other = chance.sample(ids, 2)
        feeders.append({"from": one, "to": other, "through": [f"cb-{i}"]})
    return Catalogue.model_validate(
        {
            "format": 1,
            "aircraft": {"name": "Bench net", "revision": "1", "revised": "2026-01-01"},
            "sources": [
                {"id": "gen-1", "name": "Generator 1", "kind": "generator", "volts": 28},
                {"id": "gen-2", "name": "Generator 2", "kind": "generator", "volts": 28},
                {"id": "battery", "name": "Battery", "kind": "battery", "volts": 24},
            ],
            "buses": [{"id": b, "name": b} for b in ids],
            "devices": [
                {"id": f"cb-{i}", "name": f"CB {i}", "kind": "breaker", "amps": 10}
                for i in range(devices)
            ],
            "feeders": feeders,
            "equipment": [
                {"id": f"item-{i}", "name": f"Item {i}", "ata": "24", "supplies": [{"bus": b}]}
                for i, b in enumerate(ids)
            ],
            "conditions": [
                {"id": "flight", "name": "Flight", "sources": ["gen-1", "gen-2", "battery"]}
            ],
        }
    )
