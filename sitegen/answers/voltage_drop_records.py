"""What drops along conductors, and what is left at a node and at a piece of equipment."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

from sitegen.answers.loads.state_amps import Amps
from sitegen.quantities import Fraction, for_json
from sitegen.solver.network import Network

NO_VOLTS = Fraction()
NEGLIGIBLE_VOLTS = Fraction(1, 200)
"""Volts that differ by less are the same."""


@dataclass(frozen=True)
class WireDrop:
    """What drops along one conductor."""

    amps: Fraction
    volts: Fraction
    at_most: bool = False
    """The amps are the most that it may carry, or would if nothing else shared them."""
    at_least: bool = False
    """Something draws through it an amount that is not known: the amps are the least."""
    least: tuple[Fraction, Fraction] | None = field(default=None, compare=False)
    """What drops at the least along a branch and against it, V: less than 0 is a rise."""

    def or_less(self, other: WireDrop | None) -> WireDrop:
        """The same, where it may be as little as another."""
        if other is None or other.volts >= self.volts - NEGLIGIBLE_VOLTS:
            return self
        return replace(self, at_most=True, least=other.least)

    def towards(self, way: int) -> tuple[Fraction, Fraction]:
        """What drops at the least and at the most along the branch (0), or against it (1), V."""
        if self.least is None:
            return NO_VOLTS if self.at_most else self.volts, self.volts
        return self.least[way], min(self.volts, -self.least[1 - way])

    @property
    def bound(self) -> str:
        """What goes before its volts: `at least `, `at most `, or nothing."""
        return "at least " if self.at_least else "at most " if self.at_most else ""


@dataclass(frozen=True)
class VoltsUnderLoad:
    """What is left at a bus or at a piece of equipment, V."""

    volts: Fraction
    at_least: bool
    """Some of the amps on the way are the most that may flow."""
    at_most: bool
    """Something on the way has no length, or carries amps that are not known."""
    highest: Fraction | None = field(default=None, compare=False)
    """What is left at the most, V, where `at_least`."""

    @property
    def most(self) -> Fraction:
        """What is left at the most, V, if what is not known drops nothing."""
        return self.highest if self.at_least and self.highest is not None else self.volts

    @property
    def bound(self) -> str:
        """What goes before them: `at least `, `at most `, `about ` if both, or nothing."""
        if self.at_least and self.at_most:
            return "about "
        return "at least " if self.at_least else "at most " if self.at_most else ""

    def or_more(self, other: VoltsUnderLoad) -> VoltsUnderLoad:
        """The same, where it may be as much as another."""
        if other.most <= self.most + NEGLIGIBLE_VOLTS:
            return self
        return replace(self, at_least=True, highest=other.most)

    def less(self, drop: WireDrop | None) -> VoltsUnderLoad:
        """The same at the end of one more conductor; None is not known."""
        if drop is None:
            return replace(self, at_most=True)
        at_least, at_most = self.at_least or drop.at_most, self.at_most or drop.at_least
        volts, most = max(self.volts - drop.volts, NO_VOLTS), self.most - drop.towards(0)[0]
        return VoltsUnderLoad(volts, at_least, at_most, max(most, NO_VOLTS))


@dataclass(frozen=True)
class SupplyDrop:
    """One supply of a piece of equipment that has power through it."""

    item: str
    number: int
    """Of the supply."""
    bus: str
    continuous: WireDrop | None
    """Not known without length, gauge or amps."""
    short_time: WireDrop | None
    """Where the short-time amps are more."""
    at_item: VoltsUnderLoad
    """With continuous amps."""
    allowed: tuple[Fraction, Fraction] | None
    """Continuous and intermittent, V; None for a system that Table 11-6 does not have."""

    @property
    def highest(self) -> Fraction:
        """What drops at most, V; 0 where it is not known."""
        return max((d.volts for d in (self.continuous, self.short_time) if d), default=NO_VOLTS)

    @property
    def judged(self) -> list[tuple[WireDrop, Fraction | None]]:
        """The drop with continuous and with short-time amps, each with what is allowed."""
        drops = (self.continuous, self.short_time)
        pairs = zip(drops, self.allowed or (None, None), strict=True)
        return [(drop, allowed) for drop, allowed in pairs if drop is not None]

    @property
    def excess(self) -> Fraction:
        """By how many times the drop is over what is allowed; 1 or less where it is not."""
        return max((d.volts / allowed for d, allowed in self.judged if allowed), default=NO_VOLTS)


@dataclass(frozen=True)
class VoltageDrops:
    """All that drops in one state."""

    amps: Amps
    """What flows, at the volts that are left."""
    sags: dict[str, Fraction]
    """By source with `internal-ohms` that gives something: by how much its volts sag, V."""
    feeders: dict[int, WireDrop]
    """By number of a branch that conducts, whose ohms are known, and some of its amps."""
    nodes: dict[str, VoltsUnderLoad]
    """By live node."""
    limits: dict[str, tuple[Fraction, Fraction] | None]
    """By live node: what may drop from there on (`allowed_drop`)."""
    supplies: dict[tuple[str, int], SupplyDrop]
    """By equipment and number of its supply; what has power through it."""

    def between(self, least: VoltageDrops) -> VoltageDrops:
        """The same, where no more may drop than in another."""
        feeders = {n: drop.or_less(least.feeders.get(n)) for n, drop in self.feeders.items()}
        nodes = {node: left.or_more(least.nodes[node]) for node, left in self.nodes.items()}
        supplies = {
            key: replace(
                s,
                continuous=s.continuous and s.continuous.or_less(least.supplies[key].continuous),
                short_time=s.short_time and s.short_time.or_less(least.supplies[key].short_time),
                at_item=s.at_item.or_more(least.supplies[key].at_item),
            )
            for key, s in self.supplies.items()
        }
        return replace(self, feeders=feeders, nodes=nodes, supplies=supplies)

    def as_json(self, network: Network) -> dict[str, Any]:
        """The `voltage_drops` of `loads --json`; null is not known."""

        def drop(wire: WireDrop | None) -> dict[str, Any] | None:
            if wire is None:
                return None
            volts = {"amps": for_json(wire.amps), "volts": for_json(wire.volts)}
            return {**volts, "at_most": wire.at_most, "at_least": wire.at_least}

        return {
            "feeders": [
                {"from": b.origin, "to": b.target, "through": list(b.through), "drop": drop(wire)}
                for number, wire in self.feeders.items()
                for b in [network.branches[number]]
            ],
            "supplies": [
                {
                    "equipment": s.item,
                    "bus": s.bus,
                    "drop": drop(s.continuous),
                    "short_time": drop(s.short_time),
                    "allowed_volts": s.allowed and [for_json(volts) for volts in s.allowed],
                    "volts": for_json(s.at_item.volts),
                    "at_least": s.at_item.at_least,
                    "at_most": s.at_item.at_most,
                }
                for s in self.highest_first()
            ],
        }

    def too_low(self, network: Network) -> dict[str, VoltsUnderLoad]:
        """By equipment that has less than its `min-volts` on the supplies that it needs: what.

        Where these may be more than it needs (`most`), it may have less.
        """
        found = {}
        for item, least in network.min_millivolts.items():
            left = [s.at_item for (owner, _), s in self.supplies.items() if owner == item]
            needed = min if network.equipment[item].needs == "all" else max
            volts = needed(left, key=lambda one: one.volts, default=None)
            if volts is not None and volts.volts * 1000 < least:
                most = needed(one.most for one in left)
                found[item] = replace(volts, at_least=most > volts.volts, highest=most)
        return found

    def highest_first(self) -> list[SupplyDrop]:
        """The supplies on which something is known to drop, the highest first."""
        dropping = [s for s in self.supplies.values() if s.highest]
        return sorted(dropping, key=lambda supply: -supply.highest)
