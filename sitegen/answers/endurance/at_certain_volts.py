"""How long the batteries last with their volts, and those of the converters, in one place of their
ranges: which are flat after which, and each one's stages.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Literal

from sitegen.answers.endurance.asked import asked_of
from sitegen.answers.endurance.battery_draws import BatteryDraws
from sitegen.answers.endurance.battery_load import Phase
from sitegen.answers.endurance.results import Endurance, Flat, Stage
from sitegen.answers.endurance.running_down import (
    PhaseWhen,
    at_least,
    possible_savings,
    run_down,
    saved_by_crew,
    without,
)
from sitegen.answers.endurance.stages import NO_TIME, Draw, stage_ends, used_in_stages
from sitegen.catalogue.model import BatteryTime, Failure, required_ids
from sitegen.quantities import Fraction
from sitegen.reachable import reachable
from sitegen.solver.load_figures import exact
from sitegen.solver.network import Network

MINUTES = 60
"""In an hour."""


def flat_at(endurance: Endurance) -> tuple[bool, Fraction]:
    """To sort by: what has no limit, or is not known, last."""
    return endurance.total is None, endurance.total or NO_TIME


def batteries_of(network: Network, condition: str, failure: Failure | None) -> list[BatteryDraws]:
    """All batteries, with what is asked of them in a condition and a failure."""
    shed = failure.crew_does(condition).shed if failure else ()
    asked = {s: asked_of(network, s, condition, failure) for s in network.sources}
    column = network.columns[condition]
    return [
        BatteryDraws(
            source.id,
            asked[source.id],
            exact(source.amp_hours) * exact(asked[source.id].usable) * MINUTES
            if source.amp_hours
            else None,
            network.figures[column, False],
            network.figures[asked[source.id].landing_column or column, False],
            _apart(network, asked[source.id].landing_column, column),
            frozenset(shed),
            _needed(network),
        )
        for source in network.sources.values()
        if source.kind == "battery"
    ]


@lru_cache(maxsize=8)
def _needed(network: Network) -> frozenset[str]:
    """What provides a function, and what that requires."""
    onward = {item: required_ids(e) for item, e in network.equipment.items()}
    providers = [i for f in network.catalogue.functions for i in f.equipment]
    return frozenset(reachable(onward, providers))


@dataclass(frozen=True)
class Run:
    """The batteries run down with sources at certain volts."""

    batteries: Sequence[BatteryDraws]
    phase_when: PhaseWhen
    acts: Sequence[str]
    idle: Collection[str] = ()
    """Batteries that have an endurance with nothing to carry."""

    _known: dict[str, list[BatteryDraws]] = field(default_factory=dict)

    def on_time_of(self, battery: str) -> list[BatteryDraws]:
        """All batteries with the stages of one, this one first."""
        if battery not in self._known:
            [of] = [b for b in self.batteries if b.battery == battery]
            others = [b.with_stages_of(of) for b in self.batteries if b is not of]
            self._known[battery] = [of, *others]
        return self._known[battery]

    @property
    def endurances(self) -> list[Endurance]:
        """Those of the batteries that carry something, without what would save most."""
        found = []
        for one in self.batteries:
            batteries = self.on_time_of(one.battery)
            phases, end = run_down(batteries, self.phase_when)
            # One that carries nothing now may take over when another is flat.
            if one.battery in self.idle or any(one.has_load(phase) for phase in phases):
                found.append(_endurance(batteries, phases, end))
        return found

    def with_gains(self, one: Endurance, others: Sequence[Run] = ()) -> Endurance:
        """The same with what could be turned off as well, and what the crew's acts have saved.

        `others`: with the sources at other volts, at which the battery lasts as long or longer.
        """
        batteries, phase_when, end = self.on_time_of(one.battery), self.phase_when, one.total

        def elsewhere(item: str) -> list[Fraction | None]:
            return [without(item, run.on_time_of(one.battery), run.phase_when) for run in others]

        return replace(
            one,
            savings=at_least(possible_savings(batteries, phase_when, end), end, elsewhere),
            bought=saved_by_crew(batteries, phase_when, end, self.acts),
        )


def _apart(network: Network, landing: str | None, column: str | None) -> str:
    """The landing's column, if supplies may draw in other parts by it than by the condition's."""
    return landing if landing and landing != column and network.supply_figures else ""


def _endurance(
    batteries: Sequence[BatteryDraws], phases: Sequence[Phase], end: Fraction | None
) -> Endurance:
    of = batteries[0]
    draws = of.draws(phases)
    stages = _timed(of, draws, end, of.stages(phases[0], draws[0]))
    flat_before = [
        Flat(
            battery,
            later.start,
            _amps_at(later.start, draws[k], of.asked, end),
            tuple(sorted(of.unknown(later))),
        )
        for k, later in _changing(of, phases)
        for battery in later.flat[-1]
    ]
    return Endurance(
        of.battery,
        of.asked,
        of.capacity,
        *stages,
        total=end,
        reaches=_reaches(of, end),
        flat_before=tuple(flat_before),
        all_flat_before=phases[-1].all_flat,
        flat_at=tuple(p.start for p in phases[1:] for _ in p.flat[-1]),
        unknown=(),
        savings=(),
        bought=(),
    ).with_unknown(_unknown(of, batteries, phases))


def _unknown(
    of: BatteryDraws, batteries: Sequence[BatteryDraws], phases: Sequence[Phase]
) -> set[str]:
    """What is not known of a battery's load, and of that of those which hand theirs on to it."""
    found = {u for phase in phases for u in of.unknown(phase)}
    found |= {
        other.battery
        for other in batteries
        if other.capacity is None and other is not of and _share_load(of, other, phases[0])
    }
    for k, later in _changing(of, phases):
        before = [b for b in batteries if b.battery in later.flat[-1]]
        found = found.union(*(_unknown(b, batteries, phases[:k]) for b in before))
    return found


def _changing(of: BatteryDraws, phases: Sequence[Phase]) -> list[tuple[int, Phase]]:
    """The phases, by number, from the start of which on a battery gives other amps."""
    draws = of.draws(phases)
    past = exact(of.asked.recognition_minutes)
    return [
        (k, phase)
        for k, phase in enumerate(phases)
        if k and draws[k - 1].amps[phase.start >= past :] != draws[k].amps[phase.start >= past :]
    ]


def _timed(
    of: BatteryDraws,
    draws: Sequence[Draw],
    end: Fraction | None,
    stages: tuple[Stage, Stage, Stage],
) -> tuple[Stage, Stage, Stage]:
    recognition, cruise, landing = stages
    if of.capacity is None:
        return stages
    if end is None:
        shed, reserve = exact(of.asked.recognition_minutes), exact(of.asked.landing_minutes)
        return (
            replace(recognition, minutes=shed, used=used_in_stages(draws, of.asked, shed)[0]),
            cruise,
            replace(landing, minutes=reserve, used=draws[-1].landing * reserve),
        )
    shed, land = stage_ends(end, of.asked)
    assert land is not None
    used = used_in_stages(draws, of.asked, end)
    after, last = _in_force(draws, shed), _in_force(draws, land)
    return (
        replace(recognition, minutes=shed, used=used[0]),
        replace(cruise, amps=after.cruise, minutes=land - shed, used=used[1]),
        replace(landing, amps=last.landing, minutes=end - land, used=used[2]),
    )


def _in_force(draws: Sequence[Draw], minute: Fraction) -> Draw:
    return [d for d in draws if d.start <= minute][-1]


def _amps_at(minute: Fraction, draw: Draw, asked: BatteryTime, end: Fraction | None) -> Fraction:
    shed, land = stage_ends(end, asked)
    if minute < shed:
        return draw.recognition
    return draw.cruise if land is None or minute < land else draw.landing


def _reaches(
    of: BatteryDraws, end: Fraction | None
) -> Literal["recognition", "landing", "through", "without-limit", "not-known"]:
    if of.capacity is None:
        return "not-known"
    if end is None:
        return "without-limit"
    if end < exact(of.asked.recognition_minutes):
        return "recognition"
    reserve = exact(of.asked.recognition_minutes) + exact(of.asked.landing_minutes)
    return "landing" if end < reserve else "through"


def _share_load(one: BatteryDraws, other: BatteryDraws, phase: Phase) -> bool:
    return any(
        shares.get(one.battery, {}).keys() & shares.get(other.battery, {}).keys()
        for shares in (phase.at_once, phase.crew[0])
    )
