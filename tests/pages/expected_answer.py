"""What a failure's page is of."""

from __future__ import annotations

from sitegen.catalogue.model import Then
from sitegen.solver.network import Network
from sitegen.solver.outcome import Outcome, after_the_crew, solve
from sitegen.solver.scenarios import Scenario, scenarios_of


def expected_outcome(network: Network, scenario: Scenario, then: Then | None = None) -> Outcome:
    """At once, or after the crew has acted."""
    at_once = solve(network, scenarios_of([scenario]))
    return at_once if then is None else after_the_crew(at_once, then)
