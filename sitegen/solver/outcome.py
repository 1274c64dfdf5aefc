"""What a steady state means for equipment, functions and volts, in every scenario at once.

An `Outcome` holds the steady state of many scenarios and, beside it, how each scenario's condition
was before anything failed; `lost` and `reduced` are the comparison of the two.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from sitegen.catalogue.model import AnyOf, Then
from sitegen.solver.faults import can_be_reset, reset, run_stage
from sitegen.solver.network import Network
from sitegen.solver.power import Power
from sitegen.solver.scenarios import Masks, Scenario, Scenarios, scenarios_of, union
from sitegen.solver.setting import setting_for, starting_from
from sitegen.solver.steady_state import Recorder, SteadyState, at_rest


@dataclass(frozen=True)
class Outcome:
    """Many scenarios, before and after: `before` is each scenario's own condition."""

    network: Network
    scenarios: Scenarios
    before: Power
    """One scenario a condition: bit c is the network's condition number c."""
    after: Power
    at_once: Power | None = None
    """How the failure alone had left it, where `after` is the state after the crew has acted."""
    before_resets: Power | None = None
    """The crew's stage after switches, pulls and shedding, where something is reset besides."""
    acts_alone: Power | None = None
    """The conditions with the same acts and nothing failed, in the crew's stage."""
    reset: Mapping[str, int] = field(default_factory=dict)
    """By component that the crew reset: the scenarios in which it was tripped or stalled."""
    dip: bool = False
    """Contactors drop out while a fault holds their coil voltage down."""

    def was(self, of_condition: int) -> int:
        """Spread a mask over conditions out over the scenarios that start from them."""
        return self.scenarios.spread_out(
            {c.id: of_condition >> i & 1 for i, c in enumerate(self.network.catalogue.conditions)}
        )

    @cached_property
    def worked(self) -> dict[str, int]:
        """By equipment: it worked in the scenario's condition before anything failed."""
        return {e: self.was(mask) for e, mask in self.before.works.items()}

    @cached_property
    def turned_off(self) -> dict[str, int]:
        """By equipment: the crew's acts have stopped it, not the failure.

        It worked in the condition, and still did when the failure had come, or would if the crew
        had not turned off this or that.
        """
        if self.at_once is None:
            return dict.fromkeys(self.worked, 0)
        at_once, all_left_on = self.at_once.works, replace(self.after, shed=frozenset()).works
        taken = self._taken_by_a_reset
        return {
            e: was & ~self.after.works[e] & (at_once[e] | all_left_on[e]) & ~taken[e]
            for e, was in self.worked.items()
        }

    @cached_property
    def _taken_by_a_reset(self) -> dict[str, int]:
        """By equipment: it worked until a reset that did not hold."""
        if self.before_resets is None:
            return dict.fromkeys(self.worked, 0)
        now = self.after.steady
        again = union(
            where & (now.opened.get(i, 0) | now.stalled.get(i, 0))
            for i, where in self.reset.items()
        )
        return {e: works & again for e, works in self.before_resets.works.items()}

    @cached_property
    def lost(self) -> dict[str, int]:
        """By equipment: it worked in the condition and no longer does; the crew did not stop it."""
        off = self.turned_off
        return {e: was & ~self.after.works[e] & ~off[e] for e, was in self.worked.items()}

    @cached_property
    def reduced(self) -> dict[str, int]:
        """By equipment: it works, but a supply or a required alternative that it had is gone."""
        found = {}
        for item, works in self.after.works.items():
            gone = 0
            for was, fed in zip(self.before.fed[item], self.after.fed[item], strict=True):
                gone |= self.was(was) & ~fed
            for requirement in self.network.equipment[item].requires:
                if isinstance(requirement, AnyOf):
                    for other in requirement.any:
                        gone |= self.worked[other] & ~self.after.works[other]
            found[item] = works & gone & self.worked[item] & ~self.after.not_known[item]
        return found

    @cached_property
    def comes_on(self) -> dict[str, int]:
        """By equipment: it did not work in the condition, and the failure makes it work."""
        on = self._newly_works
        return {e: mask & ~self.turned_on[e] for e, mask in on.items()}

    @cached_property
    def turned_on(self) -> dict[str, int]:
        """By equipment: it did not work in the condition, and the crew's acts make it work."""
        if self.acts_alone is None:
            return dict.fromkeys(self.worked, 0)
        alone = self.acts_alone.works
        return {e: mask & self.was(alone[e]) for e, mask in self._newly_works.items()}

    @cached_property
    def _newly_works(self) -> dict[str, int]:
        return {e: self.after.works[e] & ~was for e, was in self.worked.items()}

    @cached_property
    def kept(self) -> dict[str, int]:
        """By equipment: it worked in the condition and works, with all that it had."""
        return {
            e: was & self.after.works[e] & ~self.reduced[e] & ~self.after.not_known[e]
            for e, was in self.worked.items()
        }

    @cached_property
    def driven(self) -> dict[str, int]:
        """By generator: it has failed or stalled, and its terminals are live all the same."""
        steady = self.after.steady
        return {
            s.id: steady.live[s.id]
            & (self.scenarios.failed.get((s.id, "lost"), 0) | steady.stalled.get(s.id, 0))
            for s in self.network.sources.values()
            if s.kind == "generator"
        }

    @cached_property
    def not_powered(self) -> dict[str, int]:
        """By equipment: it did not work in the condition either."""
        every = self.scenarios.all
        return {e: every & ~was & ~self.after.works[e] for e, was in self.worked.items()}


def condition_states(network: Network) -> Power:
    """Every condition of the airframe with nothing failed; bit c is condition number c."""
    scenarios = scenarios_of([Scenario(c.id) for c in network.catalogue.conditions])
    setting = setting_for(network, scenarios)
    return Power(run_stage(network, setting, at_rest(network, scenarios, setting)))


def solve(
    network: Network,
    scenarios: Scenarios,
    before: Power | None = None,
    dip: bool = False,
    record: Recorder | None = None,
) -> Outcome:
    """Solve many scenarios at once, each from its condition's steady state.

    Parameters
    ----------
    network, scenarios : the wiring, and what fails in which condition.
    before : the conditions' steady states, where the caller has them.
    dip : contactors drop out while a fault holds their coil voltage down; else they ride through.
    record : notified of every step (`faults.run_stage`), where there is one scenario.
    """
    before = before or condition_states(network)
    conditions = [c.id for c in network.catalogue.conditions]

    def in_condition(masks: Masks) -> dict[str, int]:
        return {
            device: scenarios.spread_out(
                {c: masks[device] >> i & 1 for i, c in enumerate(conditions)}
            )
            for device in network.switching
        }

    start = starting_from(network, in_condition(before.steady.conducts))
    # A failure judges anew what chatters in its condition; where nothing fails, nothing is judged.
    nothing_fails = scenarios.of_size.get(0, 0)
    if nothing_fails:
        chatters = in_condition(before.steady.chatters)
        start = replace(start, chatters={d: mask & nothing_fails for d, mask in chatters.items()})
    steady = run_stage(network, setting_for(network, scenarios), start, dip, record)
    return Outcome(network, scenarios, before, Power(steady), dip=dip)


def after_the_crew(outcome: Outcome, then: Then, record: Recorder | None = None) -> Outcome:
    """The scenarios of an outcome again, after the crew has acted on each.

    The stage starts from where the failure left the aircraft. The switches that the crew has set,
    the breakers that it has pulled and the equipment that it has turned off apply first, and what
    it resets after that.
    """
    network, scenarios = outcome.network, outcome.scenarios
    left, dip = outcome.after.steady, outcome.dip
    acted, unreset, tripped = _acted(left, scenarios, then, dip, record)
    conditions = scenarios_of([Scenario(c.id) for c in network.catalogue.conditions])
    alone, _, _ = _acted(outcome.before.steady, conditions, then, dip, None)
    shed = frozenset(then.shed)
    return replace(
        outcome,
        after=Power(acted, shed),
        at_once=outcome.after,
        before_resets=None if unreset is None else Power(unreset, shed),
        acts_alone=Power(alone, shed),
        reset=tripped,
    )


def _acted(
    steady: SteadyState, scenarios: Scenarios, then: Then, dip: bool, record: Recorder | None
) -> tuple[SteadyState, SteadyState | None, dict[str, int]]:
    """The state after the crew's acts, the one before its resets, and what it has reset."""
    network = steady.network
    conditions = [c.id for c in network.catalogue.conditions]
    setting = setting_for(
        network,
        scenarios,
        switches=dict.fromkeys(conditions, then.switches),
        pulled=dict.fromkeys(conditions, then.pulled),
    )
    acted = run_stage(network, setting, steady.positions, dip, record)
    tripped = can_be_reset(acted, then.reset)
    if not any(tripped.values()):
        return acted, None, {}
    start = reset(acted.positions, tripped)
    return run_stage(network, setting, start, dip, record), acted, tripped
