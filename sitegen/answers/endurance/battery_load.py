"""How load falls on the batteries, at once and after the crew has acted.

Who carries what is in `sharing.py`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

from sitegen.answers.loads.converter_loops import loop_inputs
from sitegen.answers.loads.drawn import Draws, draws
from sitegen.answers.loads.net_state import NetState
from sitegen.answers.loads.range_end import Place, battery_places, volts_at_place
from sitegen.answers.loads.sharing import ONE, Sharing
from sitegen.answers.loads.state_amps import NO_AMPS, Amps
from sitegen.answers.overload import open_by_overload
from sitegen.catalogue.model import Then
from sitegen.quantities import Fraction
from sitegen.solver.faults import run_stage
from sitegen.solver.outcome import Outcome, run_acts, shed_by
from sitegen.solver.power import Power
from sitegen.solver.scenarios import bits, scenarios_of, union
from sitegen.solver.setting import Positions, setting_for

Given = tuple[Fraction, bool]
"""(amps, whether that is all): more may come on top, it is not known how much."""

Share = dict[str, dict[str, Given]]
"""By battery, by equipment: what the battery gives for each ampere of the equipment's figure."""

Flat = tuple[tuple[str, ...], ...]
"""The batteries that are flat, the first first; those that end at the same minute together."""


NOTHING: Given = NO_AMPS, True


@dataclass(frozen=True)
class Phase:
    """How load falls on the batteries from a minute on, until the next of them is flat."""

    start: Fraction
    flat: Flat
    """The batteries that are flat by then."""
    at_once: Share
    crew: list[Share]
    """After the crew has acted: after all acts, then with each one of them left undone."""
    crew_in: Callable[[str], list[Share]]
    """The same with what supplies draw by a load column other than the condition's."""

    @property
    def all_flat(self) -> tuple[str, ...]:
        """The batteries that are flat, one after the other."""
        return tuple(battery for together in self.flat for battery in together)


class LoadShares:
    """How load falls on the batteries in some scenarios, by which of them are flat.

    All scenarios are solved again at once each time that more batteries are flat.
    """

    def __init__(self, outcome: Outcome) -> None:
        self.outcome = outcome
        self._later: dict[tuple[int, tuple[str, ...]], Outcome] = {}
        """By the outcome before, and the batteries that are flat next."""
        self._states: dict[frozenset[str], list[Outcome]] = {frozenset(): [outcome]}
        """By all that are flat, whatever went first, the states that this leaves."""
        self._drawn: dict[int, Draws] = {}
        self._known: dict[tuple[int, Place, str], tuple[Amps, Share]] = {}

    def of(self, scenario: int, place: Place, flat: Flat, column: str = "") -> Share:
        """What each battery gives for each ampere of each piece of equipment.

        Parameters
        ----------
        scenario : its number.
        place : where in their ranges the sources are whose volts amps follow.
        flat : the batteries that are flat.
        column : by which equipment with figures for its supplies divides its load; left out, the
            condition's.
        """
        power = self.with_flat(flat).after
        if id(power) not in self._drawn:
            self._drawn[id(power)] = draws(power)
        drawn = self._drawn[id(power)]
        amps = drawn.states[drawn.number[scenario]]
        key = id(amps), place, column
        if key not in self._known:
            share = _share(amps, volts_at_place(power, scenario, place), column)
            self._known[key] = amps, share
        return self._known[key][1]

    def with_flat(self, flat: Flat) -> Outcome:
        """The scenarios when these batteries are flat, each time from the state before that."""
        if not flat:
            return self.outcome
        before, together = self.with_flat(flat[:-1]), flat[-1]
        key = id(before), together
        if key not in self._later:
            found = with_flat(before, together)
            # Mostly it is the same whichever goes first.
            states = self._states.setdefault(frozenset().union(*flat), [])
            same = (one for one in states if _same_state(one, found))
            self._later[key] = next(same, found)
            if self._later[key] is found:
                states.append(found)
        return self._later[key]


@dataclass(frozen=True)
class Phases:
    """How load falls on the batteries in one scenario, by which of them are flat."""

    at_once: LoadShares
    scenario: int
    crew: LoadShares
    """Of what `after_acts` made of it; `at_once` itself where nobody acts."""
    acted: Sequence[int]
    """The numbers of the scenario there: after all acts, then with each one of them left undone."""
    _known: dict[tuple[Place, Flat], tuple[Share, list[Share]]] = field(default_factory=dict)

    @property
    def places(self) -> tuple[Place, ...]:
        """Where the volts may be that amps follow."""
        return battery_places(self.at_once.outcome.network)

    def flat(self, place: Place, start: Fraction, flat: Flat) -> Phase:
        """The phase that begins when the last of these batteries are flat.

        `place`: where in their ranges the sources are whose volts amps follow.
        """
        key = place, flat
        if key not in self._known:
            self._known[key] = (
                self.at_once.of(self.scenario, place, flat),
                [self.crew.of(number, place, flat) for number in self.acted],
            )
        return Phase(start, flat, *self._known[key], partial(self._crew_in, place, flat))

    def _crew_in(self, place: Place, flat: Flat, column: str) -> list[Share]:
        return [self.crew.of(number, place, flat, column) for number in self.acted]


def unsure_nodes(power: Power) -> dict[str, int]:
    """By node of which nothing may say who carries it: the scenarios in which that is so."""
    return {**power.conflicts, **dict.fromkeys(loop_inputs(power.steady.network), -1)}


def scenarios_on_battery(power: Power) -> int:
    """The scenarios in which a battery may carry load: elsewhere there is no endurance."""
    network = power.steady.network
    batteries = [s.id for s in network.sources.values() if s.kind == "battery"]
    carrying = [power.carriers[node] for node in network.loaded_nodes]
    # Where nothing says who carries a node, any source that reaches it may.
    reaching = [
        {s: power.reach[s].get(node, 0) & mask for s in batteries}
        for node, mask in unsure_nodes(power).items()
    ]
    return union(of.get(s, 0) for of in (*carrying, *reaching) for s in batteries)


def _share(amps: Amps, volts: Mapping[str, int] | None, column: str) -> Share:
    sharing = amps.net.sharing
    network = sharing.network
    sharing = Sharing(network, sharing.state, column or sharing.column, volts)
    net = replace(amps.net, sharing=sharing)
    floating = _floating(net)
    drawing = [
        (item, bus, part)
        for item, live in amps.powered.items()
        for bus, part in sharing.draws(item, live)
    ]
    # What a converter gives where nothing says who carries a node, or takes to feed itself, is not
    # known: it is listed with the equipment, without a figure.
    meeting = {s for reaching in net.not_shared.values() for s in reaching}
    for converter in sharing.inputs.keys() & meeting.union(sharing.circular):
        drawing += [(converter, bus, None) for bus, _ in sharing.fed_from(converter)]
    given = {bus: _given(net, bus) for bus in {bus for _, bus, _ in drawing}}
    shares: Share = {}
    for item, bus, part in drawing:
        for source, (amps_here, is_all) in given[bus].items():
            if network.sources[source].kind == "battery" and source not in floating:
                of_battery = shares.setdefault(source, {})
                before, was_all = of_battery.get(item, NOTHING)
                more = NO_AMPS if part is None else part * amps_here
                of_battery[item] = before + more, was_all and is_all and part is not None
    return shares


def _given(net: NetState, node: str) -> dict[str, Given]:
    """By source, what it gives for an ampere drawn at a node, through converters too.

    Over a node of which nothing says who carries it, it is not known how much.
    """
    sharing = net.sharing
    found: dict[str, Given] = {}
    unsure = set[str]()
    waiting = [(node, ONE, True)]
    while waiting:
        here, amps, is_known = waiting.pop()
        reaching = net.not_shared.get(here)
        if reaching:
            amps, is_known = NO_AMPS, False
        if here in unsure and not is_known:
            continue
        if not is_known:
            unsure.add(here)
        parts = dict.fromkeys(reaching, ONE) if reaching else sharing.carriers(here)
        for source, part in parts.items():
            before, was_all = found.get(source, NOTHING)
            found[source] = before + amps * part, was_all and is_known
            for origin, taken in sharing.inputs.get(source, {}).items():
                waiting.append((origin, amps * part * taken, is_known))
    return found


def _floating(net: NetState) -> set[str]:
    """The batteries that give nothing: a generator, external power or a converter fed from one
    offers as many volts at their terminals as they have, or more. What AC sources that conflict
    feed is not known, nor what a converter feeds itself.
    """
    sharing, power = net.sharing, net.power
    network = sharing.network
    machines = {s for s, r in network.sources.items() if r.kind not in ("battery", "converter")}

    def is_fed(node: str) -> bool:
        return node not in net.conflicts and not machines.isdisjoint(sharing.carriers(node))

    while True:
        converters = {
            s
            for s, taken in sharing.inputs.items()
            if s not in sharing.circular and any(map(is_fed, taken))
        }
        if converters <= machines:
            break
        machines |= converters
    return {
        s
        for s, record in network.sources.items()
        if record.kind == "battery" and record.current == "dc"
        for machine in machines
        for level, where in power.offered[machine].get(s, ())
        if where >> net.scenario & 1 and level >= network.millivolts[s]
    }


# What the crew has done


def after_acts(
    at_once: Outcome,
    thens: Sequence[Then],
    acts: Sequence[Sequence[str]],
    overload: bool = False,
) -> tuple[Outcome, list[range]]:
    """Scenarios after the crew has acted, each then with every one of its acts left undone.

    What the crew sheds is left on here: it switches nothing, and is subtracted later. What it
    resets is reset in all of them.

    Parameters
    ----------
    at_once : how the failures left the aircraft.
    thens : by scenario, what the crew does.
    acts : by scenario, the switches that it sets and the breakers that it pulls.
    overload : what is overloaded then opens.

    Returns
    -------
    The outcome; by scenario its numbers there, that with all acts first.
    """
    network = at_once.network
    numbers, several, end = [], [], 0
    blocks: list[int] = []
    where: dict[int, tuple[Then, int]] = {}
    undone: dict[str, int] = {}
    for k, (then, of_it) in enumerate(zip(thens, acts, strict=True)):
        numbers.append(range(end, end + 1 + len(of_it)))
        several += [at_once.scenarios.at(k)] * len(numbers[-1])
        blocks.append((1 << numbers[-1].stop) - (1 << end))
        where[id(then)] = then, where.get(id(then), (then, 0))[1] | blocks[-1]
        for number, act in enumerate(of_it, end + 1):
            undone[act] = undone.get(act, 0) | 1 << number
        end = numbers[-1].stop
    scenarios = scenarios_of(several)
    setting = setting_for(network, scenarios, [*where.values()])
    as_before = setting_for(network, scenarios)
    position, opened = dict(setting.position), dict(setting.open)
    for act, mask in undone.items():
        for place in position:
            if place[0] == act:
                position[place] = _mixed(position[place], as_before.position[place], mask)
        if act in opened:
            opened[act] = _mixed(opened[act], as_before.open[act], mask)
    left = at_once.after.steady.positions
    start = Positions(
        *(
            {i: union(blocks[k] for k in bits(mask)) for i, mask in masks.items()}
            for masks in (left.closed, left.chatters, left.opened, left.stalled)
        )
    )
    setting = replace(setting, position=position, open=opened)
    steady, _, _ = run_acts(network, setting, start, [*where.values()], at_once.dip)
    outcome = replace(at_once, scenarios=scenarios, after=Power(steady))
    if overload:
        # What the crew has shed overloads nothing.
        shed = shed_by([*where.values()])
        judged, _ = open_by_overload(replace(outcome, after=Power(steady, shed)))
        outcome = replace(outcome, after=Power(judged.after.steady))
    return outcome, numbers


def _mixed(mask: int, other: int, where: int) -> int:
    return mask & ~where | other & where


def with_flat(outcome: Outcome, flat: Iterable[str]) -> Outcome:
    """The scenarios again when these batteries are flat, from the steady state before that."""
    steady = outcome.after.steady
    setting = steady.setting
    on_line = {**setting.on_line, **dict.fromkeys(flat, 0)}
    again = run_stage(
        outcome.network, replace(setting, on_line=on_line), steady.positions, outcome.dip
    )
    return replace(outcome, after=Power(again, outcome.after.shed))


def _same_state(one: Outcome, other: Outcome) -> bool:
    """Of outcomes with the same set from outside, whether they leave all in the same state."""
    first, second = one.after.steady, other.after.steady
    return all(
        getattr(first, name) == getattr(second, name)
        for name in ("live", "produces", "conducts", "chatters", "opened", "stalled", "down")
    )
