"""What is said beside minutes on battery: what they assume, and what is lost before they end.

The minutes are those of answer 1, in which nothing opens by overload, with every battery at its
volts in the catalogue, as far as it plays a part which of them carries what. And the batteries'
volts go down: what needs more than the bottom of their `volts-range` does not last as long.
"""

from __future__ import annotations

from collections.abc import Container, Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations

from sitegen.answers.endurance.results import Endurance
from sitegen.solver.outcome import Outcome
from sitegen.solver.power import SHARING_MILLIVOLTS
from sitegen.solver.scenarios import union


@dataclass(frozen=True)
class Remarks:
    """Of the scenarios of a last stage: at once, or after the crew has acted."""

    outcome: Outcome

    def on(
        self, endurances: Iterable[Endurance], scenario: int, still_closed: Iterable[str]
    ) -> tuple[Endurance, ...]:
        """The endurances of one scenario, with remarks.

        Parameters
        ----------
        endurances : the batteries'.
        scenario : its number.
        still_closed : what must open by overload in any stage of it.
        """
        closed = tuple(sorted(still_closed))
        lost = [i for i, mask in self._lost_at_low_volts.items() if mask >> scenario & 1]
        return tuple(
            replace(
                one,
                equally_charged=self._equally_charged(one.battery, scenario),
                still_closed=closed,
                lost_at_low_volts=tuple(
                    i for i in lost if one.battery in self._carriers(scenario, i, lost)
                ),
            )
            for one in endurances
        )

    @cached_property
    def _change(self) -> dict[str, tuple[int, int]]:
        """By battery how far the bottom and the top of its range are from its volts, mV."""
        network = self.outcome.network
        found = {}
        for source, record in network.sources.items():
            if record.kind == "battery":
                volts = network.millivolts[source]
                low, high = network.millivolt_ranges.get(source, (volts, volts))
                found[source] = low - volts, high - volts
        return found

    def _equally_charged(self, battery: str, scenario: int) -> tuple[str, ...]:
        """The batteries that may share its load, or carry it, at some volts within the ranges."""
        return tuple(
            other
            for pair, mask in self._may_share.items()
            if battery in pair and mask >> scenario & 1
            for other in pair
            if other != battery
        )

    @cached_property
    def _may_share(self) -> dict[tuple[str, str], int]:
        """By pair of batteries: one carries load at a node, and the other might."""
        network, power = self.outcome.network, self.outcome.after
        feeding = {branch.origin for branch in network.branches if branch.into_converter}
        loaded = [node for node in network.nodes if network.on_bus[node] or node in feeding]
        found = {}
        for one, other in combinations(self._change, 2):
            (low, high), (other_low, other_high) = self._change[one], self._change[other]
            found[one, other] = union(
                here
                & there
                & (power.carriers[node].get(one, 0) | power.carriers[node].get(other, 0))
                for node in loaded
                for level, here in power.offered[one][node]
                for other_level, there in power.offered[other][node]
                if level + high >= other_level + other_low - SHARING_MILLIVOLTS
                and other_level + other_high >= level + low - SHARING_MILLIVOLTS
            )
        return found

    @cached_property
    def _lost_at_low_volts(self) -> dict[str, int]:
        """By equipment that works, and not with the batteries at the bottom of their ranges.

        No switching device moves.
        """
        network, power = self.outcome.network, self.outcome.after
        if not network.min_millivolts or not any(low for low, _ in self._change.values()):
            return {}
        works: dict[str, int] = {}
        for item in network.resolve_order:
            fed = power.fed[item]
            if item in network.min_millivolts:
                fed = tuple(
                    mask & self._at_low_volts(connection.bus, network.min_millivolts[item])
                    for connection, mask in zip(network.connections[item], fed, strict=True)
                )
            works[item] = power.working(network.equipment[item], fed, works)
        return {item: power.works[item] & ~works[item] for item in sorted(works)}

    def _at_low_volts(self, node: str, least: int) -> int:
        """A node shows at least this, mV, with the batteries at the bottom of their ranges."""
        return union(
            where
            for source, offered in self.outcome.after.offered.items()
            for level, where in offered[node]
            if level + self._change.get(source, (0, 0))[0] >= least
        )

    def _carriers(self, scenario: int, item: str, lost: Container[str]) -> set[str]:
        """The sources that carry an item, or what is lost of what it requires."""
        network, power = self.outcome.network, self.outcome.after
        found = {
            source
            for connection, fed in zip(network.connections[item], power.fed[item], strict=True)
            if fed >> scenario & 1
            for source, mask in power.carriers[connection.bus].items()
            if mask >> scenario & 1
        }
        for requirement in network.equipment[item].requires:
            for other in [requirement] if isinstance(requirement, str) else requirement.any:
                if other in lost:
                    found |= self._carriers(scenario, other, lost)
        return found
