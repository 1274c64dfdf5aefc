"""Which answer to a short a failure's page has to be of, from `drop` in both."""

from __future__ import annotations

from sitegen.answers.dip_decides import drops_out
from sitegen.catalogue.model import Then
from sitegen.solver.network import Network
from sitegen.solver.outcome import Outcome, after_the_crew, solve
from sitegen.solver.scenarios import Scenario, scenarios_of


def expected_outcome(network: Network, scenario: Scenario, then: Then | None = None) -> Outcome:
    """What the page is of: at once, or after the crew has acted."""
    dip = drops_out(network, scenario.condition, scenario.faults, then)
    at_once = solve(network, scenarios_of([scenario]), dip=dip)
    return at_once if then is None else after_the_crew(at_once, then)
