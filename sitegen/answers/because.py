"""How it comes about: what a failure, or the crew, changes, step by step, each with its cause.

The steps are those of the solver (`solver/faults.py`): what a dip takes, what opens and stalls,
then each round in which switching devices follow their closing conditions.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from typing import Any

from sitegen.answers.overload import open_by_overload
from sitegen.catalogue.kinds import BLOWS
from sitegen.catalogue.model import Terms, Then
from sitegen.solver.network import Branch, Network
from sitegen.solver.outcome import after_the_crew, solve
from sitegen.solver.power import Power
from sitegen.solver.scenarios import Fault, Masks, Scenario, scenarios_of
from sitegen.solver.setting import Positions, Setting
from sitegen.solver.steady_state import SteadyState, conducting, powered

CHANGES = ("tripped", "blown", "open", "stalled", "idle", "dead", "closed", "produces", "live")
"""The changes of one step, causes first: what opens before what it takes."""


@dataclass(frozen=True)
class Event:
    """One component whose state has changed, at the last step that changed it."""

    step: int
    """Steps in which an event is are numbered 1, 2, 3."""
    kind: str
    id: str
    change: str
    """Its state at the end: live, dead; produces, idle, stalled; closed, open, tripped, blown."""
    causes: tuple[str, ...]
    """Ids, sorted."""
    in_dip: bool = False
    """Contactors drop out, and it came while the short held down what has volts again since."""

    def as_json(self) -> dict[str, Any]:
        """The object that `drop --json` prints."""
        return {
            "step": self.step,
            "kind": self.kind,
            "id": self.id,
            "change": self.change,
            "causes": list(self.causes),
        }


def because(
    network: Network,
    condition: str,
    faults: Sequence[Fault],
    then: Then | None = None,
    dip: bool = False,
    before: Power | None = None,
    overload: bool = False,
) -> tuple[Event, ...]:
    """The events of one scenario in order; with `then`, those of the crew's stage.

    Parameters
    ----------
    network, condition, faults : as for `drop`.
    then : what the crew does; the events begin with what the failure left.
    dip : as for `drop`.
    before : the conditions' steady states, where the caller has them.
    overload : what is overloaded in that answer opens.
    """
    steps = _Steps(network)
    scenarios = scenarios_of([Scenario(condition, tuple(faults))])
    record = None if then else steps
    outcome = solve(network, scenarios, before, dip=dip, record=record)
    by_overload: frozenset[str] = frozenset()
    if overload:
        outcome, by_overload = open_by_overload(outcome, record)
    own = {component for component, _ in faults}
    if then is None:
        number = [c.id for c in network.catalogue.conditions].index(condition)
        start = _of_condition(outcome.before.steady, number)
    else:
        start = _State.of(outcome.after.steady)
        outcome = after_the_crew(outcome, then, steps)
        if overload:
            outcome, by_overload = open_by_overload(outcome, steps)
        own |= {*then.pulled, *(name for name, where in outcome.reset.items() if where)}
    shorted = sorted(c for c, mode in faults if mode == "shorted" and c in network.nodes)
    return tuple(_events([start, *steps.states], own, shorted, by_overload))


def causes_first(events: Iterable[Event]) -> list[Event]:
    """Events as words for people have them: within a step, cause before effect."""
    return sorted(events, key=lambda event: (event.step, CHANGES.index(event.change)))


@dataclass(frozen=True)
class _State:
    """How everything is after a step, in one scenario."""

    network: Network
    setting: Setting
    conducts: Masks
    live: Masks
    produces: Masks
    down: Masks
    opened: Masks
    stalled: Masks
    in_dip: bool = False

    @classmethod
    def of(cls, steady: SteadyState) -> _State:
        """The steady state of a single scenario."""
        return cls(
            steady.network,
            steady.setting,
            steady.conducts,
            steady.live,
            steady.produces,
            steady.down,
            steady.opened,
            steady.stalled,
        )

    def word(self, component: str) -> str:
        """The state of a source, bus or device."""
        if component in self.produces:
            if self.stalled.get(component):
                return "stalled"
            return "produces" if self.produces[component] else "idle"
        if component in self.live:
            return "live" if self.live[component] else "dead"
        if self.conducts[component]:
            return "closed"
        if not self.opened.get(component):
            return "open"
        return "blown" if self.network.components[component].kind in BLOWS else "tripped"

    def terms(self, device: str) -> dict[tuple[int, str, str], bool]:
        """By term of a device's closing conditions (its number, word, id): whether it holds."""
        return {
            term: bool(self._steady.terms_hold([single]))
            for term, single in _single_terms(self.network)[device].items()
        }

    @cached_property
    def _steady(self) -> SteadyState:
        return SteadyState(
            self.network,
            self.setting,
            dict(self.live),
            dict(self.produces),
            dict(self.conducts),
            {},
            dict(self.opened),
            dict(self.stalled),
            dict(self.down),
        )

    def acts(self, component: str) -> bool:
        """Whether it conducts, passes or produces."""
        if component in self.produces:
            return bool(self.produces[component])
        if component in self.live:
            return not self.down[component]
        return bool(self.conducts[component])

    def held_down(self, component: str) -> bool:
        """Whether it is a node that a short holds at no volts."""
        return bool(self.down.get(component, 0) & ~self.setting.dead.get(component, 0))

    def on_the_way_to(self, node: str) -> set[str]:
        """Every component on a way from a producing source to a node.

        A way visits no node twice: what every path to an arc passes, no path onwards from it may.
        """
        arcs = [arc for arc in self._arcs if arc[0] != node]
        arriving = _passed({s for s, mask in self.produces.items() if mask}, arcs)
        leaving = _passed({node}, [(target, origin, branch) for origin, target, branch in arcs])
        found = {node} & arriving.keys()
        for origin, target, branch in arcs:
            reached = origin in arriving and target in leaving
            if reached and not arriving[origin] & leaving[target]:
                found |= {origin, *branch.through}
        return found

    @cached_property
    def _arcs(self) -> list[tuple[str, str, Branch]]:
        found = []
        for branch in self.network.branches:
            if all(self.conducts[d] for d in branch.through):
                ends = (branch.origin, branch.target)
                if not any(self.down[n] for n in ends):
                    found.append((*ends, branch))
                    if not branch.into_converter and all(
                        self.setting.bypassed[d] for d in branch.diodes
                    ):
                        found.append((branch.target, branch.origin, branch))
        return found


def _of_condition(steady: SteadyState, number: int) -> _State:
    def here(masks: Masks) -> dict[Any, int]:
        return {key: mask >> number & 1 for key, mask in masks.items()}

    given = steady.setting
    setting = Setting(
        1,
        here(given.on_line),
        here(given.dead),
        here(given.shorted),
        here(given.open),
        here(given.stuck),
        here(given.bypassed),
        {place: mask >> number & 1 for place, mask in given.position.items()},
        here(given.in_condition),
    )
    return _State(
        steady.network,
        setting,
        here(steady.conducts),
        here(steady.live),
        here(steady.produces),
        here(steady.down),
        opened={},
        stalled={},
    )


@dataclass
class _Steps:
    """Keeps the state after every step (a `Recorder`).

    The rounds of a search that starts again from where it began are forgotten: nothing came of
    them, and how many there are depends on how a cycle is found.
    """

    network: Network
    states: list[_State] = field(default_factory=list)
    began: int = 0
    in_dip: bool = False

    def begin(self) -> None:
        """A search for the steady state begins."""
        self.began = len(self.states)

    def restart(self) -> None:
        """It starts again."""
        del self.states[self.began :]

    def step(self, setting: Setting, at: Positions, down: Masks) -> None:
        """A step is over."""
        conducts = conducting(self.network, setting, at)
        live, produces = powered(self.network, setting, conducts, down, at.stalled)
        now = at.copy()
        self.states.append(
            _State(
                self.network,
                setting,
                conducts,
                live,
                produces,
                dict(down),
                now.opened,
                now.stalled,
                self.in_dip,
            )
        )


def _events(
    states: Sequence[_State],
    own: set[str],
    shorted: Sequence[str],
    by_overload: frozenset[str],
) -> Iterator[Event]:
    network, last = states[0].network, states[-1]
    rows: list[tuple[int, str, str]] = []
    for component in network.components.values():
        if component.id not in own and states[0].word(component.id) != last.word(component.id):
            words = [state.word(component.id) for state in states]
            changed = max(k for k in range(1, len(words)) if words[k] != words[k - 1])
            rows.append((changed, component.kind, component.id))
    rows.sort()
    numbers = {k: n for n, k in enumerate(sorted({k for k, _, _ in rows}), 1)}
    for k, kind, name in rows:
        causes = () if name in by_overload else _causes(states, k, name, shorted)
        # It held down what has volts again since.
        in_dip = states[k].in_dip and any(
            mask and not last.down[n] for n, mask in states[k].down.items()
        )
        yield Event(numbers[k], kind, name, last.word(name), tuple(sorted(causes)), in_dip)


def _causes(states: Sequence[_State], k: int, name: str, shorted: Sequence[str]) -> Iterable[str]:
    before, after = states[k - 1], states[k]
    word = after.word(name)
    if word in ("tripped", "blown", "stalled"):
        return shorted
    if name in after.live:
        comes = word in ("live", "produces")
        if not comes and after.held_down(name):
            return shorted
        on, off = (after, before) if comes else (before, after)
        changed = {c for c in on.on_the_way_to(name) if on.acts(c) and not off.acts(c)} - {name}
        held = set() if comes else {c for c in changed if after.held_down(c)}
        return changed - held | set(shorted if held else ())
    # It was judged by the state after the step before: what changed until then is the cause.
    judged = before.terms(name) if name in after.network.switching else {}
    for earlier in reversed(states[: k - 1]):
        changed = {
            term[2] for term, held in earlier.terms(name).items() if judged and held != judged[term]
        }
        if changed:
            return changed
    return ()


@lru_cache(maxsize=8)
def _single_terms(network: Network) -> dict[str, dict[tuple[int, str, str], Terms]]:
    """By switching device, by term (number of its closing condition, word, id): it alone."""
    none = Terms()
    found: dict[str, dict[tuple[int, str, str], Terms]] = {}
    for device, conditions in network.switching.items():
        terms = found[device] = {}
        for number, structure in enumerate(conditions):
            for word in ("switches", "volts_above", "volts_below"):
                for name, value in getattr(structure, word).items():
                    terms[number, word, name] = none.model_copy(update={word: {name: value}})
            for word in ("live", "dead", "closed", "open"):
                for name in getattr(structure, word):
                    terms[number, word, name] = none.model_copy(update={word: [name]})
    return found


def _passed(seeds: set[str], arcs: Sequence[tuple[str, str, Branch]]) -> dict[str, frozenset[str]]:
    """By node that the seeds reach: the nodes that every path from a seed passes, both ends too."""
    into: dict[str, list[str]] = {}
    for origin, target, _branch in arcs:
        into.setdefault(target, []).append(origin)
    passed = {seed: frozenset({seed}) for seed in seeds}
    changed = True
    while changed:
        changed = False
        for node, origins in into.items():
            before = [passed[origin] for origin in origins if origin in passed]
            if node not in seeds and before:
                now = frozenset.intersection(*before) | {node}
                if passed.get(node) != now:
                    passed[node] = now
                    changed = True
    return passed
