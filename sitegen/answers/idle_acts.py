"""Which of the crew's acts do nothing in a condition: `then` is one list for all of them.

An act does nothing in a condition where it changes nothing in two places: left out of all that the
crew does after the failure, and done alone with nothing failed. The second keeps what is set for
good: with generator 1 lost its switch goes off, though its line contactor has opened by itself.

What the crew turns off (`shed`) does nothing where the item works neither at once, nor after the
other acts.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from sitegen.answers.dip_decides import may_drop_out
from sitegen.answers.drop import faults_of
from sitegen.catalogue.model import NO_ACTS, Failure, Then
from sitegen.solver.network import Network
from sitegen.solver.outcome import condition_states, run_acts, shed_by, solve
from sitegen.solver.power import Power
from sitegen.solver.scenarios import Scenario, bits, scenarios_of, union
from sitegen.solver.setting import Positions, setting_for

Act = tuple[str, str]
"""A field of `then`, and an id in it: `("switches", "gen-1-switch")`."""

IdleActs = Mapping[str, tuple[frozenset[Act], ...]]
"""By failure about which the crew acts, and by condition."""


def idle_acts(
    network: Network, failures: Iterable[Failure], before: Power | None = None
) -> IdleActs:
    """The acts that do nothing. All failures are solved together.

    Where it is open whether contactors drop out, an act that does nothing does so in either answer.

    Parameters
    ----------
    network, failures : one airframe's wiring, and its named failures.
    before : the solved conditions, where the caller has them.
    """
    before = before or condition_states(network)
    acting = [f for f in failures if f.has_acts]
    shorting = [f for f in acting if may_drop_out(network, faults_of(network, f))]
    idle = _left_out(network, acting, before, dip=False)
    if shorting:
        for case, acts in _left_out(network, shorting, before, dip=True).items():
            idle[case] &= acts
    alone = _alone(network, acting, before) if acting else {}
    conditions = [c.id for c in network.catalogue.conditions]
    return {
        f.id: tuple(
            frozenset(
                act
                for act in idle[f.id, c]
                if act[0] == "shed" or not alone[c, _alone_as(f.crew_does(c), act)]
            )
            for c in conditions
        )
        for f in acting
    }


def acts_of(then: Then) -> Iterator[Act]:
    """What the crew sets, pulls, turns off and resets."""
    yield from (("switches", switch) for switch in then.switches)
    yield from (("pulled", breaker) for breaker in then.pulled)
    yield from (("shed", item) for item in then.shed)
    yield from (("reset", component) for component in then.reset)


def only(then: Then, acts: Iterable[Act]) -> Then:
    """The same, of these acts alone."""
    kept = frozenset(acts)
    return Then(
        switches={s: p for s, p in then.switches.items() if ("switches", s) in kept},
        pulled=[p for p in then.pulled if ("pulled", p) in kept],
        shed=[i for i in then.shed if ("shed", i) in kept],
        reset=[r for r in then.reset if ("reset", r) in kept],
    )


def _left_out(
    network: Network, failures: Sequence[Failure], before: Power, dip: bool
) -> dict[tuple[str, str], set[Act]]:
    """By failure and condition: the acts that change nothing there after the others."""
    cases = [(f, c.id) for f in failures for c in network.catalogue.conditions]
    scenarios = [Scenario(c, faults_of(network, f)) for f, c in cases]
    # The same object wherever the acts are the same ones: what is the same object is solved once.
    without = {id(then): _without_each(then) for f in failures for _, then in f.crew_fields}
    thens = [without.get(id(f.crew_does(c)), [NO_ACTS]) for f, c in cases]
    at_once, power, numbers = _acted(network, scenarios, thens, before, dip)
    other = _other_than_the_first(power, numbers)
    idle = {}
    for k, (failure, condition) in enumerate(cases):
        acts = acts_of(failure.crew_does(condition))
        idle[failure.id, condition] = {
            act
            for number, act in zip(numbers[k][1:], acts, strict=True)
            if not (
                (at_once.works[act[1]] >> k | power.works[act[1]] >> number) & 1
                if act[0] == "shed"
                else other >> number & 1
            )
        }
    return idle


def _without_each(then: Then) -> list[Then]:
    """All of it, then without one act at a time."""
    acts = [*acts_of(then)]
    return [only(then, {*acts} - {left}) for left in (None, *acts)]


def _alone_as(then: Then, act: Act) -> tuple[Act, str]:
    """An act with the position of a switch."""
    return act, then.switches.get(act[1], "")


def _alone(
    network: Network, failures: Iterable[Failure], before: Power
) -> dict[tuple[str, tuple[Act, str]], bool]:
    """By condition and act: whether it changes anything with nothing failed."""
    singly = {
        _alone_as(then, act): only(then, [act])
        for f in failures
        for _, then in f.crew_fields
        for act in acts_of(then)
    }
    conditions = [c.id for c in network.catalogue.conditions]
    thens = [[NO_ACTS, *singly.values()] for _ in conditions]
    _, power, numbers = _acted(network, [Scenario(c) for c in conditions], thens, before, False)
    other = _other_than_the_first(power, numbers)
    return {
        (c, act): bool(other >> number & 1)
        for c, of_it in zip(conditions, numbers, strict=True)
        for act, number in zip(singly, of_it[1:], strict=True)
    }


def _acted(
    network: Network,
    scenarios: Sequence[Scenario],
    thens: Sequence[Sequence[Then]],
    before: Power,
    dip: bool,
) -> tuple[Power, Power, list[range]]:
    """Scenarios at once; after each of several sets of acts; by scenario its numbers there."""
    at_once = solve(network, scenarios_of(scenarios), before, dip).after
    numbers: list[range] = []
    where: dict[int, tuple[Then, int]] = {}
    for of_it in thens:
        first = numbers[-1].stop if numbers else 0
        numbers.append(range(first, first + len(of_it)))
        for number, then in enumerate(of_it, first):
            where[id(then)] = then, where.get(id(then), (then, 0))[1] | 1 << number
    left = at_once.steady.positions
    blocks = [_block(of_it) for of_it in numbers]
    start = Positions(
        *(
            {i: union(blocks[k] for k in bits(mask)) for i, mask in masks.items()}
            for masks in (left.closed, left.chatters, left.opened, left.stalled)
        )
    )
    again = scenarios_of([s for s, n in zip(scenarios, numbers, strict=True) for _ in n])
    acts = [*where.values()]
    steady, _, _ = run_acts(network, setting_for(network, again, acts), start, acts, dip)
    return at_once, Power(steady, shed_by(acts)), numbers


def _block(numbers: range) -> int:
    return (1 << numbers.stop) - (1 << numbers.start)


def _other_than_the_first(power: Power, numbers: Sequence[range]) -> int:
    """The scenarios of each block in which something is otherwise than in its first."""
    steady = power.steady
    blocks = [(of_it.start, _block(of_it)) for of_it in numbers]
    differs = 0
    for mask in {
        *steady.conducts.values(),
        *steady.opened.values(),
        *steady.stalled.values(),
        *steady.chatters.values(),
        *steady.live.values(),
        *power.works.values(),
        *(mask for levels in steady.levels.values() for _, mask in levels),
    }:
        as_first = union(block for first, block in blocks if mask >> first & 1)
        differs |= mask ^ as_first
    return differs
