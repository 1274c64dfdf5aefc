"""What a steady state means for equipment, functions and volts, in every scenario at once.

An `Outcome` holds the steady state of many scenarios and, beside it, how each scenario's condition
was before anything failed; `lost` and `reduced` are the comparison of the two.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache

from sitegen.catalogue.model import AnyOf, Then
from sitegen.solver.faults import can_be_reset, reset, run_stage
from sitegen.solver.network import Network
from sitegen.solver.power import Power
from sitegen.solver.scenarios import Masks, Scenario, Scenarios, scenarios_of, union
from sitegen.solver.setting import Acts, Positions, Setting, setting_for, starting_from
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
    acts: Acts = ()
    """What the crew does, in the crew's stage."""
    acts_alone: Power | None = None
    """For each of these acts the conditions with it and nothing failed, one after the other."""
    reset: Mapping[str, int] = field(default_factory=dict)
    """By component that the crew reset: the scenarios in which it was tripped or stalled."""
    dip: bool = False
    """Contactors of which the catalogue does not say whether they ride through drop out while a
    fault holds their coil voltage down; those of which it says that they drop out do so always."""

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
        """By equipment: the crew's acts alone have stopped it, not the failure or what opened then.

        It worked in the condition, and still did when the failure had come, or would if the crew
        had not turned off this or that.
        """
        if self.at_once is None:
            return dict.fromkeys(self.worked, 0)
        at_once, taken = self.at_once.works, self._taken_by_what_opened
        return {
            e: was & ~self.after.works[e] & (at_once[e] | self._left_on[e]) & ~taken[e]
            for e, was in self.worked.items()
        }

    @cached_property
    def _left_on(self) -> Mapping[str, int]:
        """By equipment: it works where the crew has turned nothing off."""
        return replace(self.after, shed={}).works

    @cached_property
    def _taken_by_what_opened(self) -> dict[str, int]:
        """By equipment: left on it would not work either, since something opened or stalled in the
        crew's stage, by a short or by overload.

        Without that it works after the same acts, with what is shorted cut off from the rest; or it
        worked until a reset that did not hold.
        """
        assert self.at_once is not None
        left, now, failed = self.at_once.steady, self.after.steady, 0
        for i, where in self.reset.items():
            failed |= where & (now.opened.get(i, 0) | now.stalled.get(i, 0))
        again, unreset = failed, self.before_resets
        for steady in (now, unreset.steady) if unreset else (now,):
            for i, mask in (*steady.opened.items(), *steady.stalled.items()):
                again |= mask & ~(left.opened.get(i, 0) | left.stalled.get(i, 0))
        if not again:
            return dict.fromkeys(self.worked, 0)
        setting = now.setting
        cut_off = {n: m | setting.dead.get(n, 0) for n, m in setting.shorted.items()}
        setting = replace(setting, dead=cut_off, shorted={})
        acted, _, _ = run_acts(self.network, setting, left.positions, self.acts)
        worked = replace(unreset, shed={}).works if unreset else dict.fromkeys(self.worked, 0)
        return {
            e: (mask & again | worked[e] & failed) & ~self._left_on[e]
            for e, mask in Power(acted).works.items()
        }

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
        size = len(self.network.catalogue.conditions)
        every, alone = (1 << size) - 1, self.acts_alone.works
        return {
            e: mask
            & union(
                where & self.was(alone[e] >> number * size & every)
                for number, (_, where) in enumerate(self.acts)
            )
            for e, mask in self._newly_works.items()
        }

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
    def not_known(self) -> dict[str, int]:
        """By equipment: it worked in the condition, and has power only from buses in conflict."""
        return {e: mask & self.worked[e] for e, mask in self.after.not_known.items()}

    @cached_property
    def unsure(self) -> dict[str, int]:
        """By equipment: it worked and counts as working; it, or what it requires, is not known."""
        return {
            e: was & self.after.works[e] & ~self.after.surely_works[e]
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


@lru_cache(maxsize=8)
def condition_states(network: Network) -> Power:
    """Every condition of the airframe with nothing failed; bit c is condition number c.

    One question after the other is asked about the same airframe, or about two that are compared.
    """
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
    dip : devices of which the catalogue does not say whether they ride through drop out while a
        fault holds their coil voltage down; else they ride through.
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


def after_the_crew(
    outcome: Outcome, then: Then | Sequence[Then], record: Recorder | None = None
) -> Outcome:
    """The scenarios of an outcome again, after the crew has acted on each.

    The stage starts from where the failure left the aircraft. The switches that the crew has set,
    the breakers that it has pulled and the equipment that it has turned off apply first, and what
    it resets after that.

    Parameters
    ----------
    outcome : how the failures left the aircraft.
    then : what the crew does, in every scenario or by scenario.
    record : notified of every step (`faults.run_stage`), where there is one scenario.
    """
    network, scenarios, dip = outcome.network, outcome.scenarios, outcome.dip
    acts = [(then, scenarios.all)] if isinstance(then, Then) else _acts(then)
    left = outcome.after.steady.positions
    setting = setting_for(network, scenarios, acts)
    acted, unreset, tripped = run_acts(network, setting, left, acts, dip, record)
    shed = shed_by(acts)
    size = len(network.catalogue.conditions)
    conditions = [Scenario(c.id) for _ in acts for c in network.catalogue.conditions]
    each = [(one, ((1 << size) - 1) << size * number) for number, (one, _) in enumerate(acts)]
    start = _repeated(outcome.before.steady.positions, sum(1 << size * n for n in range(len(acts))))
    alone, _, _ = run_acts(
        network, setting_for(network, scenarios_of(conditions), each), start, each
    )
    return replace(
        outcome,
        after=Power(acted, shed),
        at_once=outcome.after,
        before_resets=None if unreset is None else Power(unreset, shed),
        acts=acts,
        acts_alone=Power(alone, shed_by(each)),
        reset=tripped,
    )


def off_line(outcome: Outcome, source: str) -> Outcome:
    """The scenarios of an outcome again, after somebody has taken a source off line.

    What has opened or stalled stays so, as in the crew's stage (`after_the_crew`).
    """
    steady = outcome.after.steady
    setting = replace(steady.setting, on_line={**steady.setting.on_line, source: 0})
    left = run_stage(outcome.network, setting, steady.positions, outcome.dip)
    return replace(outcome, after=replace(outcome.after, steady=left))


def _acts(thens: Sequence[Then]) -> Acts:
    """What the crew does by scenario, each once."""
    masks: dict[int, int] = {}
    by_id = {id(then): then for then in thens}
    for k, then in enumerate(thens):
        masks[id(then)] = masks.get(id(then), 0) | 1 << k
    return [(by_id[number], mask) for number, mask in masks.items()]


def shed_by(acts: Acts) -> dict[str, int]:
    """By equipment that the crew turns off: the scenarios in which it does."""
    found: dict[str, int] = {}
    for then, where in acts:
        for item in then.shed:
            found[item] = found.get(item, 0) | where
    return found


def _repeated(at: Positions, times: int) -> Positions:
    """Positions for the same scenarios several times over; bit by bit of `times` where."""
    return Positions(
        *(
            {i: mask * times for i, mask in masks.items()}
            for masks in (at.closed, at.chatters, at.opened, at.stalled)
        )
    )


def run_acts(
    network: Network,
    setting: Setting,
    start: Positions,
    acts: Acts,
    dip: bool = False,
    record: Recorder | None = None,
) -> tuple[SteadyState, SteadyState | None, dict[str, int]]:
    """The state after the crew's acts, the one before its resets, and what it has reset.

    Parameters
    ----------
    network, setting : the wiring, and what is set from outside, the crew's switches and pulls too.
    start : where the failure left everything.
    acts, dip, record : as for `after_the_crew`.
    """
    acted = run_stage(network, setting, start, dip, record)
    tripped: dict[str, int] = {}
    for then, where in acts:
        for name, mask in can_be_reset(acted, then.reset).items():
            tripped[name] = tripped.get(name, 0) | mask & where
    if not any(tripped.values()):
        return acted, None, {}
    start = reset(acted.positions, tripped)
    return run_stage(network, setting, start, dip, record), acted, tripped
