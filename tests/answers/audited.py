"""Short nets, and what the audit of protection finds in them."""

from __future__ import annotations

from sitegen.answers.protection.protection_audit import protection
from sitegen.answers.protection.protection_records import Overload, Protection
from sitegen.catalogue.model import Catalogue
from sitegen.catalogue.wire_chart import wire_rows
from sitegen.solver.network import build
from tests.nets import expand, network
from tests.random_nets import Raw

TABLE = wire_rows()


def audited(net: str | Raw) -> Protection:
    """What the audit finds in a short net, or in a whole catalogue."""
    if isinstance(net, str):
        return protection(network(net), TABLE)
    return protection(build(Catalogue.model_validate(net), "all"), TABLE)


def strained(found: tuple[Overload, ...]) -> list[tuple[str, float, float]]:
    """What carries how much, over what it may."""
    return [(o.component, round(o.amps, 3), round(o.limit, 3)) for o in found]


def wired(net: str, *wires: tuple[str, int]) -> Raw:
    """A short net whose feeders to these nodes have wires of a gauge."""
    catalogue = expand(net)
    for target, gauge in wires:
        for feeder in catalogue["feeders"]:
            if feeder["to"] == target:
                feeder["wire"] = gauge
    return catalogue
