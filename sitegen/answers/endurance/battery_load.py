"""How load falls on the batteries, at once and after the crew has acted.

Who carries what is in `sharing.py`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from sitegen.answers.loads.drawn import draws
from sitegen.answers.loads.range_end import RangeEnd, range_ends, volts_at_range_end
from sitegen.answers.loads.sharing import Sharing
from sitegen.answers.loads.state_amps import NO_AMPS, Amps
from sitegen.catalogue.model import Then
from sitegen.quantities import Fraction
from sitegen.solver.faults import run_stage
from sitegen.solver.outcome import Outcome, run_acts
from sitegen.solver.power import Power
from sitegen.solver.scenarios import scenarios_of, union
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


@dataclass(frozen=True)
class Phases:
    """How load falls on the batteries, by which of them are flat; each set worked out once."""

    at_once: Outcome
    crew: Outcome
    """What `after_acts` made of it; `at_once` itself where nobody acts."""
    _shares: dict[frozenset[str], list[tuple[Share, list[Share]]]] = field(default_factory=dict)
    """By end of the ranges."""

    @property
    def ends(self) -> tuple[RangeEnd, ...]:
        """The ends of the ranges of volts that amps follow."""
        return range_ends(self.at_once.network)

    def flat(self, end: RangeEnd, start: Fraction, flat: tuple[str, ...]) -> Phase:
        """The phase that begins when the last of these batteries is flat.

        `end`: the volts that amps follow, of batteries that have a range.
        """
        key = frozenset(flat)
        if key not in self._shares:
            shares = self._shares_with(self.at_once, flat)
            acted = shares
            if self.crew is not self.at_once:
                acted = self._shares_with(self.crew, flat)
            self._shares[key] = [(s[0], a) for s, a in zip(shares, acted, strict=True)]
        return Phase(start, flat, *self._shares[key][end])

    def _shares_with(self, outcome: Outcome, flat: tuple[str, ...]) -> list[list[Share]]:
        return _shares(with_flat(outcome, flat) if flat else outcome, self.ends)


def scenarios_on_battery(power: Power) -> int:
    """The scenarios in which a battery may carry load: elsewhere there is no endurance."""
    network = power.steady.network
    return union(
        power.carriers[node].get(source.id, 0)
        for source in network.sources.values()
        if source.kind == "battery"
        for node in network.loaded_nodes
    )


def _shares(outcome: Outcome, ends: Sequence[RangeEnd]) -> list[list[Share]]:
    """By end of the ranges, in every scenario, what each battery gives for each ampere of each
    piece of equipment.
    """
    drawn = draws(outcome.after)
    states = [drawn.states[number] for number in drawn.number]
    return [
        [_share(amps, volts_at_range_end(outcome.after, k, end)) for k, amps in enumerate(states)]
        for end in ends
    ]


def _share(amps: Amps, volts: Mapping[str, int] | None) -> Share:
    sharing = amps.net.sharing
    network = sharing.network
    sharing = Sharing(network, sharing.state, sharing.column, volts)
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


def after_acts(at_once: Outcome, then: Then, acts: Sequence[str]) -> Outcome:
    """One scenario after the crew has acted, then with each of these acts left undone.

    What the crew sheds is left on here: it switches nothing, and is subtracted later. What it
    resets is reset in all of them.
    """
    network, scenario = at_once.network, at_once.scenarios.at(0)
    scenarios = scenarios_of([scenario] * (1 + len(acts)))
    every = scenarios.all
    setting = setting_for(network, scenarios, [(then, every)])
    as_before = setting_for(network, scenarios)
    position, opened = dict(setting.position), dict(setting.open)
    for number, act in enumerate(acts, 1):
        undone = 1 << number
        for place in position:
            if place[0] == act:
                position[place] = _mixed(position[place], as_before.position[place], undone)
        if act in opened:
            opened[act] = _mixed(opened[act], as_before.open[act], undone)
    left = at_once.after.steady.positions
    start = Positions(
        *(
            {i: every if mask else 0 for i, mask in masks.items()}
            for masks in (left.closed, left.chatters, left.opened, left.stalled)
        )
    )
    setting = replace(setting, position=position, open=opened)
    steady, _, _ = run_acts(network, setting, start, [(then, every)], at_once.dip)
    return replace(at_once, scenarios=scenarios, after=Power(steady))


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
    return replace(outcome, after=Power(again))
