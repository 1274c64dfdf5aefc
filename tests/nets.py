"""Small nets for tests, written short.

A net is a few lines of YAML. `expand` makes the catalogue of it that an author would write:

    sources: {gen: 28.5, bat: {kind: battery, volts: 24}}    # a number: a generator's volts
    buses: [main, essential]                        # {main: {}, ac: {current: ac}}: with fields
    devices: {cb: breaker, k: {kind: contactor, closes-when: {live: [gen]}}}
    feeders: [gen > k > main, main > cb > essential]          # node > devices > node
    feeders: [{path: gen > main, wire: 2, length: {feet: 9}}]  # with other fields
    equipment: {radio: main, horizon: {supplies: [{bus: main}, {bus: essential}]}}
    load-columns: [cruise, landing]
    conditions: {flight: {sources: [gen, bat]}}    # left out: `flight`, with every source on line
"""

from __future__ import annotations

from typing import Any

import yaml

from sitegen.answers.drop import Loss, drop, fault
from sitegen.catalogue.model import Catalogue, Then
from sitegen.solver.network import Network, build

NOT_SYNCHRONISED = """
sources:
  ac-1: {kind: generator, volts: 115, current: ac}
  ac-2: {kind: generator, volts: 115, current: ac}
buses: [left, right]
devices: {tie: {kind: relay, closes-when: {dead: [ac-1]}}}
feeders: [ac-1 > left, ac-2 > right, left > tie > right]
"""
"""Two AC sources that meet only where the relay between their buses sticks closed."""

SECTIONS = ("sources", "devices", "equipment", "switches", "conditions", "indications", "functions")


def expand(text: str) -> dict[str, Any]:
    """A whole catalogue, as YAML would give it, from a short net."""
    short = yaml.safe_load(text)
    records: dict[str, list[dict[str, Any]]] = {
        section: [
            {"id": name, "name": name, **_long(section, written)}
            for name, written in short.get(section, {}).items()
        ]
        for section in SECTIONS
    }
    if not records["conditions"]:
        on_line = [s["id"] for s in records["sources"] if s["kind"] != "converter"]
        records["conditions"] = [{"id": "flight", "name": "flight", "sources": on_line}]
    return {
        "format": 1,
        "aircraft": {
            **{"name": "A net", "revision": "1", "revised": "2026-01-01"},
            **short.get("aircraft", {}),
        },
        **records,
        "buses": [{"id": b, "name": b, **fields} for b, fields in _buses(short.get("buses", []))],
        "feeders": [_feeder(f) for f in short.get("feeders", [])],
        "load-columns": [{"id": c, "name": c} for c in short.get("load-columns", [])],
        "battery-time": short.get("battery-time", {}),
    }


def network(text: str) -> Network:
    """A short net, ready for computing."""
    return build(Catalogue.model_validate(expand(text)), "all")


def after(
    text: str | Network, *failed: str, condition: str = "flight", then: Then | None = None
) -> Loss:
    """What a failure does to a net; `bus:shorted` names a mode."""
    net = network(text) if isinstance(text, str) else text
    return drop(net, condition, [fault(net, name) for name in failed], then)


def live(loss: Loss) -> set[str]:
    """The buses and terminals that are live."""
    return {node for node, state in loss.nodes.items() if state.live}


def volts(loss: Loss, *nodes: str) -> tuple[float, ...]:
    """What these nodes show."""
    return tuple(loss.nodes[node].volts for node in nodes)


def closed(loss: Loss) -> set[str]:
    """The devices that conduct."""
    return {device for device, conducts in loss.conducts.items() if conducts}


def _long(section: str, written: Any) -> dict[str, Any]:
    if section == "sources":
        written = written if isinstance(written, dict) else {"volts": written}
        return {"kind": "generator", **written}
    if section == "devices" and isinstance(written, str):
        return {"kind": written}
    if section == "equipment":
        written = {"supplies": [{"bus": written}]} if isinstance(written, str) else written
        return {"ata": "23", **written}
    if section == "switches":
        return {"positions": written}
    return dict(written)


def _buses(written: list[str] | dict[str, dict[str, Any]]) -> list[tuple[str, dict[str, Any]]]:
    return list(written.items()) if isinstance(written, dict) else [(bus, {}) for bus in written]


def _feeder(written: str | dict[str, Any]) -> dict[str, Any]:
    if isinstance(written, dict):
        rest = {field: value for field, value in written.items() if field != "path"}
        return {**_feeder(written["path"]), **rest}
    origin, *through, target = (part.strip() for part in written.split(">"))
    return {"from": origin, "to": target, "through": through}
