"""Question 1: this drops; what do I lose, what is reduced, what is on battery, what is left?"""

from __future__ import annotations

from collections.abc import Container, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from sitegen.answers.indications import readings, readings_by_scenario
from sitegen.answers.loads.drawn import draws
from sitegen.answers.node_states import NodeState, node_states
from sitegen.answers.over_rating import OverRating, over_rating
from sitegen.answers.overload import Word, overloaded, what_is_overloaded_opens
from sitegen.answers.readings import Reading
from sitegen.catalogue.kinds import BLOWS, COIL_OPERATED
from sitegen.catalogue.model import Failure, Function, Group, Provider, Then
from sitegen.quantities import Fraction
from sitegen.solver.network import Connection, Network
from sitegen.solver.outcome import Outcome, after_the_crew, solve
from sitegen.solver.scenarios import (
    Fault,
    Scenario,
    at_least,
    bits,
    ids_by_scenario,
    scenarios_of,
    values_by_scenario,
)


@dataclass(frozen=True)
class Loss:
    """One scenario's answer. All ids are sorted."""

    airframe: str
    condition: str
    failed: tuple[Fault, ...]
    lost: tuple[str, ...]
    reduced: tuple[str, ...]
    on_battery: tuple[str, ...]
    not_powered: tuple[str, ...]
    kept: tuple[str, ...]
    """Worked in the condition and works, and has lost none of its supplies or alternatives."""
    comes_on: tuple[str, ...]
    """Did not work in the condition; the failure makes it work."""
    turned_on: tuple[str, ...]
    """Did not work in the condition; the crew's acts make it work."""
    not_known: tuple[str, ...]
    """Has power only from buses on which AC sources that are not synchronised meet."""
    shed: tuple[str, ...]
    """Stopped by what the crew did: it worked in the condition, and the failure left it alone."""
    nodes: dict[str, NodeState]
    conducts: dict[str, bool]
    """By device of any kind: it is closed and could conduct."""
    functions: dict[str, str]
    """By function: `kept`, `one-left` or `lost`."""
    readings: dict[str, Reading]
    """By indication: what it shows."""
    chatter: tuple[str, ...]
    opened: dict[str, str]
    """By protective device that a fault or overload has opened: `tripped` or `blown`."""
    stalled: tuple[str, ...]
    """The sources that a short took off line."""
    driven: tuple[str, ...]
    """The generators that have failed or stalled and whose terminals are live all the same."""
    conflicts: dict[str, tuple[str, ...]]
    """By bus: the AC sources that meet there and are not synchronised."""
    failed_resets: tuple[str, ...] = ()
    """What the crew has reset, and what has opened or stalled again."""

    overloaded: dict[str, Word] = field(default_factory=dict)
    """By device in a feeder: it must open by overload, or may; left out is what is over its limit
    with nothing failed."""
    over_rating: dict[str, OverRating] = field(default_factory=dict)
    """By source or device in a feeder that is over its rating, and more so than with nothing
    failed."""
    battery_amps: dict[str, Fraction] = field(default_factory=dict)
    """By battery that gives something: how much, A, at its volts in the catalogue."""
    overload: Loss | None = None
    """The answer in which what is overloaded opens, where something must (`with_overload`)."""

    @property
    def names(self) -> set[str]:
        """What has failed, and every item whose state is another than with nothing failed."""
        changed = (self.lost, self.reduced, self.comes_on, self.turned_on, self.not_known)
        return {component for component, _ in self.failed}.union(self.shed, *changed)

    def as_json(self, network: Network) -> dict[str, Any]:
        """The object that `drop --json` prints."""
        switching = [c.id for c in network.components.values() if c.kind in COIL_OPERATED]
        answer = {
            "airframe": self.airframe,
            "condition": self.condition,
            "failed": [{"id": component, "mode": mode} for component, mode in self.failed],
            "lost": list(self.lost),
            "reduced": list(self.reduced),
            "on_battery": list(self.on_battery),
            "not_powered": list(self.not_powered),
            "nodes": {
                node: {"live": s.live, "volts": s.volts, "sources": list(s.sources)}
                for node, s in self.nodes.items()
            },
            "contactors": {d: "closed" if self.conducts[d] else "open" for d in switching},
            "functions": self.functions,
            "chatter": list(self.chatter),
            "overloaded": self.overloaded,
            "over_rating": {i: over.as_json() for i, over in self.over_rating.items()},
            "comes_on": list(self.comes_on),
            "turned_on": list(self.turned_on),
            "shed": list(self.shed),
            "not_known": list(self.not_known),
            "opened": self.opened,
            "stalled": list(self.stalled),
            "driven": list(self.driven),
            "hazards": network.hazards,
            "conflicts": [
                {"node": node, "sources": list(sources)} for node, sources in self.conflicts.items()
            ],
        }
        return answer


def drop(
    network: Network,
    condition: str,
    faults: Sequence[Fault],
    then: Then | None = None,
    dip: bool = False,
    overload: bool = False,
) -> Loss:
    """What fails with these components, in this condition.

    Parameters
    ----------
    network : one airframe's wiring.
    condition : a condition's id.
    faults : (component id, mode) of everything that has failed at once; empty for none.
    then : what the crew has done about it; left out, nothing yet.
    dip : contactors of which the catalogue does not say whether they ride through drop out while a
        fault holds their coil voltage down.
    overload : what is overloaded in that answer opens.
    """
    at_once = solve(network, scenarios_of([Scenario(condition, tuple(faults))]), dip=dip)
    outcome = at_once if then is None else after_the_crew(at_once, then)
    [loss] = with_overload(losses(outcome), outcome, at_once, then)
    return replace(loss.overload or loss, overloaded=loss.overloaded) if overload else loss


def with_overload(
    answers: Sequence[Loss],
    outcome: Outcome,
    at_once: Outcome,
    then: Then | Sequence[Then] | None = None,
    with_readings: bool = True,
) -> list[Loss]:
    """Answers with what is overloaded in them, and the answer in which that opens.

    What is over its rating and does not open is in them too.

    Parameters
    ----------
    answers, outcome : of some scenarios, with contactors that ride through or drop out: at once, or
        after the crew has acted.
    at_once : before anyone has acted.
    then : what the crew does, if it has acted, in every scenario or by scenario.
    with_readings : as in `losses`, of the answer in which it opens.
    """
    words = overloaded(outcome)
    first = words if outcome is at_once else overloaded(at_once)
    opening = [k for k in range(len(answers)) if "must" in (*words[k].values(), *first[k].values())]
    opened: dict[int, Loss] = {}
    if opening:
        scenarios = scenarios_of([at_once.scenarios.at(k) for k in opening])
        few = solve(outcome.network, scenarios, outcome.before, outcome.dip)
        if isinstance(then, Sequence):
            then = [then[k] for k in opening]
        opened_then = what_is_overloaded_opens(few, then)
        found = _rated(losses(opened_then, with_readings), opened_then)
        opened = dict(zip(opening, found, strict=True))
    return [
        replace(loss, overloaded=words[k], overload=opened.get(k))
        for k, loss in enumerate(_rated(answers, outcome))
    ]


def _rated(answers: Sequence[Loss], outcome: Outcome) -> list[Loss]:
    """The same, with what is over its rating and what batteries give."""
    found = zip(answers, over_rating(outcome), battery_amps(outcome), strict=True)
    return [replace(loss, over_rating=over, battery_amps=amps) for loss, over, amps in found]


def battery_amps(outcome: Outcome) -> list[dict[str, Fraction]]:
    """By scenario, what each battery gives that gives something, A."""
    after = draws(outcome.after)
    batteries = [s.id for s in outcome.network.sources.values() if s.kind == "battery"]
    given = [{b: a.sources[b] for b in batteries if a.sources.get(b)} for a in after.states]
    return [given[number] for number in after.number]


def faults_of(network: Network, failure: Failure) -> tuple[Fault, ...]:
    """The components that a named failure takes, each with its mode."""
    return tuple(fault(network, text) for text in failure.failed)


def named_failure(network: Network, faults: Sequence[Fault]) -> Failure | None:
    """The named failure that is these faults together; None of one fault, which has a name."""
    if len(faults) > 1:
        for failure in network.catalogue.failures:
            if {*faults_of(network, failure)} == {*faults}:
                return failure
    return None


def fault(network: Network, text: str) -> Fault:
    """`left-main:shorted` as (component id, mode); without a mode, the kind's first."""
    component, _, mode = text.partition(":")
    return component, mode or network.components[component].modes[0]


def losses(outcome: Outcome, with_readings: bool = True) -> list[Loss]:
    """The answers of every scenario, in the order of the scenarios.

    Readings take most of the time; where nobody asks for them they may be left out.
    """
    network, count, power = outcome.network, outcome.scenarios.count, outcome.after
    steady = power.steady
    lists = {
        "lost": outcome.lost,
        "reduced": outcome.reduced,
        "on_battery": power.on_battery,
        "not_powered": outcome.not_powered,
        "kept": outcome.kept,
        "comes_on": outcome.comes_on,
        "turned_on": outcome.turned_on,
        "not_known": outcome.not_known,
        "shed": outcome.turned_off,
        "chatter": steady.chatters,
        "stalled": steady.stalled,
        "driven": outcome.driven,
        "failed_resets": {
            i: mask & (steady.opened.get(i, 0) | steady.stalled.get(i, 0))
            for i, mask in outcome.reset.items()
        },
    }
    ids = {field: ids_by_scenario(masks, count) for field, masks in lists.items()}
    opened = ids_by_scenario(steady.opened, count)
    conflicts = ids_by_scenario(power.conflicts, count)
    nodes = node_states(power, count)
    conducts = values_by_scenario(steady.conducts, count)
    functions = _functions(outcome)
    shown = readings_by_scenario(readings(power) if with_readings else {}, count)
    of_items: list[dict[str, Any]] = [
        {field: tuple(by_scenario[k]) for field, by_scenario in ids.items()} for k in range(count)
    ]
    return [
        Loss(
            airframe=network.airframe,
            condition=outcome.scenarios.at(k).condition,
            failed=outcome.scenarios.at(k).faults,
            **of_items[k],
            nodes=nodes[k],
            conducts=conducts[k],
            functions=functions[k],
            readings=shown[k],
            opened={
                d: "blown" if network.components[d].kind in BLOWS else "tripped" for d in opened[k]
            },
            conflicts={
                node: tuple(s for s in nodes[k][node].sources if network.sources[s].current == "ac")
                for node in conflicts[k]
            },
        )
        for k in range(count)
    ]


def function_states(outcome: Outcome, surely: bool = False) -> dict[str, tuple[int, int]]:
    """By function: the scenarios in which it is lost, and those in which it has none to spare.

    Parameters
    ----------
    outcome : what the providers are read from.
    surely : a provider of which it is not known whether it works counts as one that does not.
    """
    found = {}
    after = outcome.after
    works = after.surely_works if surely else after.works
    for function in outcome.network.catalogue.functions:
        working = after.providing(function.provided_by, works)
        enough, to_spare = at_least(working, function.need + 1, outcome.scenarios.all)[-2:]
        found[function.id] = (outcome.scenarios.all & ~enough, enough & ~to_spare)
    return found


def state_with(function: Function, working: int) -> str:
    """A function's state with this many working providers: `kept`, `one-left` or `lost`."""
    spare = working - function.need
    return "lost" if spare < 0 else "one-left" if spare == 0 else "kept"


def is_provided(provider: Provider, works: Container[str]) -> bool:
    """Whether a provider works, where this equipment does; a group counts as one."""
    if not isinstance(provider, Group):
        return provider in works
    if provider.any is not None:
        return sum(is_provided(one, works) for one in provider.any) >= provider.need
    return all(is_provided(one, works) for one in provider.all or ())


def enough_providers(
    outcome: Outcome, function: Function, to_spare: int = 0, surely: bool = False
) -> int:
    """The scenarios in whose condition a function had enough providers, with this many to spare.

    With `surely`, a provider of which it is not known whether it works is none.
    """
    before = outcome.before
    works = before.surely_works if surely else before.works
    worked = map(outcome.was, before.providing(function.provided_by, works))
    number = function.need + to_spare
    return at_least(worked, number, outcome.scenarios.all)[number]


def _functions(outcome: Outcome) -> list[dict[str, str]]:
    states: list[dict[str, str]] = [
        {f.id: "kept" for f in outcome.network.catalogue.functions}
        for _ in range(outcome.scenarios.count)
    ]
    for function, (lost, one_left) in function_states(outcome).items():
        for k in bits(lost):
            states[k][function] = "lost"
        for k in bits(one_left):
            states[k][function] = "one-left"
    return states


def is_fed(loss: Loss, connection: Connection) -> bool:
    """Whether power comes through a supply."""
    return loss.nodes[connection.bus].live and all(loss.conducts[d] for d in connection.through)
