"""Which answer to a short a failure's page has to be of, from `drop` in both."""

from __future__ import annotations

from sitegen.answers.dip_decides import expected_to_drop_out
from sitegen.answers.drop import drop
from sitegen.catalogue.model import Then
from sitegen.solver.network import Network
from sitegen.solver.outcome import Outcome, after_the_crew, solve
from sitegen.solver.scenarios import Scenario, scenarios_of


def expects_drop_out(network: Network, scenario: Scenario, then: Then | None = None) -> bool:
    """Whether the page is of the answer in which contactors drop out."""
    first, dip = (
        drop(network, scenario.condition, scenario.faults, then, dip=dip) for dip in (False, True)
    )
    return bool(expected_to_drop_out(network, first, dip))


def expected_outcome(network: Network, scenario: Scenario, then: Then | None = None) -> Outcome:
    """What the page is of: at once, or after the crew has acted."""
    dip = expects_drop_out(network, scenario, then)
    at_once = solve(network, scenarios_of([scenario]), dip=dip)
    return at_once if then is None else after_the_crew(at_once, then)
