"""How load falls on the batteries, at once and after the crew has acted.

Who carries what is in `sharing.py`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

from sitegen.answers.loads.drawn import Draws, draws
from sitegen.answers.loads.range_end import RangeEnd, range_ends, volts_at_range_end
from sitegen.answers.loads.sharing import Sharing
from sitegen.answers.loads.state_amps import NO_AMPS, Amps
from sitegen.catalogue.model import Then
from sitegen.quantities import Fraction
from sitegen.solver.faults import run_stage
from sitegen.solver.outcome import Outcome, run_acts
from sitegen.solver.power import Power
from sitegen.solver.scenarios import bits, scenarios_of, union
from sitegen.solver.setting import Positions, setting_for

Share = dict[str, dict[str, Fraction | None]]
"""By battery, by equipment: what the battery gives for each ampere of the equipment's figure; None
is not known."""


@dataclass(frozen=True)
class Phase:
    """How load falls on the batteries from a minute on, until the next of them is flat."""

    start: Fraction
    flat: tuple[str, ...]
    """The batteries that are flat by then, the last one last."""
    at_once: Share
    crew: list[Share]
    """After the crew has acted: after all acts, then with each one of them left undone."""
    crew_in: Callable[[str], list[Share]]
    """The same with what supplies draw by a load column other than the condition's."""


class LoadShares:
    """How load falls on the batteries in some scenarios, by which of them are flat.

    All scenarios are solved again at once for each set of flat batteries that is asked for.
    """

    def __init__(self, outcome: Outcome) -> None:
        self.outcome = outcome
        self._flat: dict[frozenset[str], tuple[Power, Draws]] = {}
        self._known: dict[tuple[int, RangeEnd, str], tuple[Amps, Share]] = {}

    def of(self, scenario: int, end: RangeEnd, flat: tuple[str, ...], column: str = "") -> Share:
        """What each battery gives for each ampere of each piece of equipment.

        Parameters
        ----------
        scenario : its number.
        end : the volts that amps follow, of batteries that have a range.
        flat : the batteries that are flat.
        column : by which equipment with figures for its supplies divides its load; left out, the
            condition's.
        """
        gone = frozenset(flat)
        if gone not in self._flat:
            power = self.with_flat(flat).after
            self._flat[gone] = power, draws(power)
        power, drawn = self._flat[gone]
        amps = drawn.states[drawn.number[scenario]]
        key = id(amps), end, column
        if key not in self._known:
            share = _share(amps, volts_at_range_end(power, scenario, end), column)
            self._known[key] = amps, share
        return self._known[key][1]

    def with_flat(self, flat: tuple[str, ...]) -> Outcome:
        """The scenarios when these batteries are flat."""
        return with_flat(self.outcome, flat) if flat else self.outcome


@dataclass(frozen=True)
class Phases:
    """How load falls on the batteries in one scenario, by which of them are flat."""

    at_once: LoadShares
    scenario: int
    crew: LoadShares
    """Of what `after_acts` made of it; `at_once` itself where nobody acts."""
    acted: Sequence[int]
    """The numbers of the scenario there: after all acts, then with each one of them left undone."""
    _known: dict[tuple[RangeEnd, frozenset[str]], tuple[Share, list[Share]]] = field(
        default_factory=dict
    )

    @property
    def ends(self) -> tuple[RangeEnd, ...]:
        """The ends of the ranges of volts that amps follow."""
        return range_ends(self.at_once.outcome.network)

    def flat(self, end: RangeEnd, start: Fraction, flat: tuple[str, ...]) -> Phase:
        """The phase that begins when the last of these batteries is flat.

        `end`: the volts that amps follow, of batteries that have a range.
        """
        key = end, frozenset(flat)
        if key not in self._known:
            self._known[key] = (
                self.at_once.of(self.scenario, end, flat),
                [self.crew.of(number, end, flat) for number in self.acted],
            )
        return Phase(start, flat, *self._known[key], partial(self._crew_in, end, flat))

    def _crew_in(self, end: RangeEnd, flat: tuple[str, ...], column: str) -> list[Share]:
        return [self.crew.of(number, end, flat, column) for number in self.acted]


def scenarios_on_battery(power: Power) -> int:
    """The scenarios in which a battery may carry load: elsewhere there is no endurance."""
    network = power.steady.network
    return union(
        power.carriers[node].get(source.id, 0)
        for source in network.sources.values()
        if source.kind == "battery"
        for node in network.loaded_nodes
    )


def _share(amps: Amps, volts: Mapping[str, int] | None, column: str) -> Share:
    sharing = amps.net.sharing
    network = sharing.network
    sharing = Sharing(network, sharing.state, column or sharing.column, volts)
    assisted = _assisted_nodes(sharing)
    drawing = [
        (item, bus, part)
        for item, live in amps.powered.items()
        for bus, part in sharing.draws(item, live)
    ]
    # What a circular converter draws is not known: it is listed with the equipment, without a
    # figure.
    for converter in sharing.circular:
        origins = [branch.origin for branch in sharing.live_inputs(converter)]
        drawing += [(converter, bus, None) for bus, _ in sharing.drawn_from(origins)]
    shares: Share = {}
    for item, bus, part in drawing:
        for source, given in sharing.source_amps(bus).items() if bus not in assisted else ():
            if network.sources[source].kind == "battery":
                of_battery = shares.setdefault(source, {})
                before = of_battery.get(item, NO_AMPS)
                if part is None or before is None:
                    of_battery[item] = None
                else:
                    of_battery[item] = before + part * given
    return shares


def _assisted_nodes(sharing: Sharing) -> set[str]:
    """The nodes whose load a generator or external power carries, alone or with others."""
    network = sharing.network
    machines = {s for s, r in network.sources.items() if r.kind not in ("battery", "converter")}
    while True:
        assisted = {n for n in network.nodes if machines & sharing.carriers(n).keys()}
        converters = {
            s
            for s, taken in sharing.inputs.items()
            if s not in sharing.circular and assisted & taken.keys()
        }
        if converters <= machines:
            return assisted
        machines |= converters


# What the crew has done


def after_acts(
    at_once: Outcome, thens: Sequence[Then], acts: Sequence[Sequence[str]]
) -> tuple[Outcome, list[range]]:
    """Scenarios after the crew has acted, each then with every one of its acts left undone.

    What the crew sheds is left on here: it switches nothing, and is subtracted later. What it
    resets is reset in all of them.

    Parameters
    ----------
    at_once : how the failures left the aircraft.
    thens : by scenario, what the crew does.
    acts : by scenario, the switches that it sets and the breakers that it pulls.

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
    return replace(at_once, scenarios=scenarios, after=Power(steady)), numbers


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
