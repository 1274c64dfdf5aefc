"""How loaded each source, bus and converter is.

Who carries what is in `sharing.py`. Battery charging is left out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from sitegen.answers.loads.drawn import Draws, draws, draws_and_peaks
from sitegen.answers.loads.state_amps import Amps
from sitegen.answers.node_states import NodeState
from sitegen.quantities import Fraction
from sitegen.solver.outcome import Outcome
from sitegen.solver.scenarios import Fault


@dataclass(frozen=True)
class Load:
    """Amps in one scenario."""

    condition: str
    failed: tuple[Fault, ...]
    amps: Amps = field(repr=False)
    """Scenarios with the same amps share it."""

    @property
    def drawn(self) -> dict[str, Fraction]:
        """By equipment that is powered and has figures: what it draws, A."""
        return self.amps.drawn

    @property
    def buses(self) -> dict[str, Fraction]:
        """By node: what equipment and converters draw from it, A."""
        return self.amps.nodes

    @property
    def sources(self) -> dict[str, Fraction]:
        """By source that produces: what it gives, A."""
        return self.amps.sources

    @property
    def converters(self) -> dict[str, Fraction]:
        """By converter that produces: what it takes at its input, A; 0 if among the unknown."""
        return self.amps.converters

    @property
    def unknown(self) -> tuple[str, ...]:
        """Powered equipment without figures, and converters whose output feeds their own input,
        from which no figure follows: no total includes them.
        """
        return self.amps.unknown

    @property
    def short_nodes(self) -> frozenset[str]:
        """Nodes from which something unknown draws: their amps are too low."""
        return self.amps.short_nodes

    @property
    def short_sources(self) -> frozenset[str]:
        """The same of sources: their amps, and a converter's input, are too low."""
        return self.amps.short_sources

    @property
    def nodes(self) -> Mapping[str, NodeState]:
        """By node its state."""
        return self.amps.net.sharing.state.nodes


def loads(outcome: Outcome, peak: bool = False) -> list[Load]:
    """The amps in every scenario, in the order of the scenarios.

    Parameters
    ----------
    outcome : the solved scenarios; each uses its condition's load column.
    peak : short-time figures where equipment has them, instead of continuous ones.
    """
    return _loads(draws(outcome.after, peak), outcome)


LoadPair = tuple[Load, Load]
"""Of one scenario: continuous, and with short-time figures."""


def load_pairs(outcome: Outcome) -> list[LoadPair]:
    """The amps in every scenario, continuous and with short-time figures, as `loads` has them."""
    both = (_loads(drawn, outcome) for drawn in draws_and_peaks(outcome.after))
    return list(zip(*both, strict=True))


def _loads(drawn: Draws, outcome: Outcome) -> list[Load]:
    found = []
    for k, number in enumerate(drawn.number):
        scenario = outcome.scenarios.at(k)
        found.append(Load(scenario.condition, scenario.faults, drawn.states[number]))
    return found
