"""How long each battery lasts when only batteries are left.

The rule is that of the worked example in UK CAA AIL/0194 (2004): the usable share of the amp-hours,
as ampere-minutes; less what is drawn until the crew has seen the loss and shed (*recognition*);
less what the approach and landing will draw (*landing*); the rest lasts as long as it carries the
shed load (*cruise*). All three together are the battery's time.

A battery's load is what `loads` puts on it, at the nodes that no generator, external power or
converter fed from one carries as well. When one battery is flat the net reaches another steady
state without it, from the one before, and what it carried falls on those that are left. What draws
over a node of which nothing says who carries it has no figure. Battery charging is left out,
and so is all that lowers a battery's capacity: age, cold, a part charge.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial
from typing import Literal

from sitegen.answers.endurance.asked import asked_of
from sitegen.answers.endurance.battery_draws import BatteryDraws
from sitegen.answers.endurance.battery_load import (
    LoadShares,
    Phase,
    Phases,
    after_acts,
    scenarios_on_battery,
)
from sitegen.answers.endurance.remarks import Remarks
from sitegen.answers.endurance.results import Endurance, Flat, Stage
from sitegen.answers.endurance.running_down import (
    PhaseWhen,
    possible_savings,
    run_down,
    saved_by_crew,
    until,
)
from sitegen.answers.endurance.stages import (
    NO_TIME,
    Draw,
    stage_ends,
    used_in_stages,
)
from sitegen.answers.loads.range_end import is_at_top
from sitegen.answers.three_answers import must_open
from sitegen.catalogue.model import BatteryTime, Failure, Then
from sitegen.quantities import Fraction, duration
from sitegen.solver.load_figures import exact
from sitegen.solver.network import Network
from sitegen.solver.outcome import Outcome, after_the_crew, solve
from sitegen.solver.power import Power
from sitegen.solver.scenarios import Fault, Scenario, scenarios_of

MINUTES = 60
"""In an hour."""


def battery_endurances(
    network: Network,
    condition: str,
    faults: Sequence[Fault],
    failure: Failure | None = None,
    before: Power | None = None,
    dip: bool = False,
) -> list[Endurance]:
    """How long each battery lasts that carries load in one scenario.

    Parameters
    ----------
    network : one airframe's wiring.
    condition : a condition's id.
    faults : (component id, mode) of everything that has failed; empty for the condition itself.
    failure : the named failure, if it is one: what the crew does, and what is asked.
    before : the solved conditions, where the caller has them.
    dip : contactors drop out while a fault holds their coil voltage down; else they ride through.

    Returns
    -------
    The endurance of every battery that carries something, at once or after the crew has acted, and
    with no help from a generator or external power; in the author's order of sources. Empty
    where the condition says `battery-time: false`.

    Notes
    -----
    Without a `then` the load after the recognition is the load before it. A battery that takes
    over only when another is flat has no endurance. Minutes count from the failure, also where
    the crew's acts put the load on the battery.

    References
    ----------
    UK CAA, AIL/0194 (2004): the worked example. 14 CFR 23.1353(h) (1-1-14 edition): 30 minutes, 60
    above 25,000 ft, recognition and shedding included.
    """
    return endurances_of_cases(network, [(condition, tuple(faults), failure)], before, dip)[0]


Case = tuple[str, tuple[Fault, ...], Failure | None]
"""A condition, what fails in it, and the named failure, if it is one."""


def endurances_of_cases(
    network: Network, cases: Sequence[Case], before: Power | None = None, dip: bool = False
) -> list[list[Endurance]]:
    """Those of some cases, as `battery_endurances` has them, solved together.

    The crew acts in all of the cases, or in none.
    """
    timed = {c.id for c in network.catalogue.conditions if c.battery_time}
    found: list[list[Endurance]] = [[] for _ in cases]
    numbers = [k for k, (condition, _, _) in enumerate(cases) if condition in timed]
    while numbers:
        together = _Together(network, [cases[k] for k in numbers], before, dip)
        on_battery = together.on_battery
        if len(on_battery) == len(numbers):
            for k, number in enumerate(numbers):
                found[number] = together.of(k)
            break
        numbers = [numbers[k] for k in on_battery]
    return found


@dataclass(frozen=True)
class _Together:
    """Some cases solved together."""

    network: Network
    cases: Sequence[Case]
    before: Power | None
    dip: bool

    def of(self, number: int) -> list[Endurance]:
        """The endurances of one of them."""
        condition, _, failure = self.cases[number]
        crew, numbers = self._crew
        phases = Phases(self._at_once, number, crew, numbers[number])
        found = endurances_of(self.network, condition, phases, failure, _acts(failure))
        if failure and failure.then:
            found = [replace(one, crew_acted=True) for one in found]
        opening = {device for stage in self._opening for device in stage.get(number, ())}
        return [*self._remarks.on(found, number, opening)]

    @property
    def on_battery(self) -> list[int]:
        """Those in which a battery carries load at once, or with what the crew does."""
        mask = scenarios_on_battery(self._at_once.outcome.after)
        crew, numbers = self._crew
        acted = scenarios_on_battery(crew.outcome.after) if self._thens else 0
        return [
            k
            for k in range(len(self.cases))
            if mask >> k & 1 or any(acted >> number & 1 for number in numbers[k])
        ]

    @cached_property
    def _at_once(self) -> LoadShares:
        scenarios = scenarios_of(
            [Scenario(condition, faults) for condition, faults, _ in self.cases]
        )
        return LoadShares(solve(self.network, scenarios, self.before, self.dip))

    @cached_property
    def _thens(self) -> list[Then]:
        return [failure.then for _, _, failure in self.cases if failure and failure.then]

    @cached_property
    def _crew(self) -> tuple[LoadShares, Sequence[Sequence[int]]]:
        if not self._thens:
            return self._at_once, [[k] for k in range(len(self.cases))]
        acts = [_acts(failure) for _, _, failure in self.cases]
        outcome, numbers = after_acts(self._at_once.outcome, self._thens, acts)
        return LoadShares(outcome), numbers

    @cached_property
    def _stages(self) -> list[Outcome]:
        at_once = self._at_once.outcome
        return [at_once, after_the_crew(at_once, self._thens)] if self._thens else [at_once]

    @cached_property
    def _opening(self) -> list[dict[int, tuple[str, ...]]]:
        return [must_open(stage) for stage in self._stages]

    @cached_property
    def _remarks(self) -> Remarks:
        return Remarks(self._stages[-1], self._stages[:-1])


def _acts(failure: Failure | None) -> list[str]:
    """The switches that the crew sets, and the breakers that it pulls."""
    then = failure.then if failure else None
    return [*then.switches, *then.pulled] if then else []


def endurances_of(
    network: Network,
    condition: str,
    phases: Phases,
    failure: Failure | None = None,
    acts: Sequence[str] = (),
) -> list[Endurance]:
    """The same without the remarks, from how load falls on the batteries."""
    # One that takes over when another is flat may do so at one end only.
    at_ends: dict[str, list[Endurance]] = {s: [] for s in network.sources}
    for end in phases.ends:
        at_top = is_at_top("battery", end)
        for one in _endurances(network, condition, failure, partial(phases.flat, end), acts):
            span = network.sources[one.battery].volts_range
            at_ends[one.battery].append(replace(one, at_volts=span[at_top]) if span else one)
    return [_judged_by_the_lower(of_battery) for of_battery in at_ends.values() if of_battery]


def _judged_by_the_lower(at_ends: Sequence[Endurance]) -> Endurance:
    """Of the endurances with sources at the ends of their ranges the shortest, with the longest."""
    shorter, *longer = sorted(at_ends, key=_flat_at)
    most = longer[-1].total if longer else None
    if shorter.total is None or most is None or duration(shorter.total) == duration(most):
        return shorter
    return replace(shorter, up_to=most)


def _flat_at(endurance: Endurance) -> tuple[bool, Fraction]:
    """To sort by: what has no limit, or is not known, last."""
    return endurance.total is None, endurance.total or NO_TIME


def _endurances(
    network: Network,
    condition: str,
    failure: Failure | None,
    phase_when: PhaseWhen,
    acts: Sequence[str],
) -> list[Endurance]:
    then = failure.then if failure else None
    asked = {s: asked_of(network, s, condition, failure) for s in network.sources}
    column = network.columns[condition]
    batteries = [
        BatteryDraws(
            source.id,
            asked[source.id],
            exact(source.amp_hours) * exact(asked[source.id].usable) * MINUTES
            if source.amp_hours
            else None,
            network.figures[column, False],
            network.figures[asked[source.id].landing_column or column, False],
            _apart(network, asked[source.id].landing_column, column),
            frozenset(then.shed if then else ()),
        )
        for source in network.sources.values()
        if source.kind == "battery"
    ]
    phases, ends = run_down(batteries, phase_when)
    # One that carries nothing now may take over when another is flat.
    carrying = [
        c for c in batteries if any(c.has_load(p) for p in phases if c.battery not in p.all_flat)
    ]
    found = [
        replace(
            _endurance(c, carrying, phases, ends[c.battery]),
            savings=possible_savings(c, batteries, phase_when, ends[c.battery]),
            bought=saved_by_crew(c, batteries, phase_when, phases, ends[c.battery], acts),
        )
        for c in carrying
    ]
    # When one is flat is as unsure as what it feeds, and so is the time of those after it.
    unknown: dict[str, set[str]] = {}
    for endurance in sorted(found, key=_flat_at):
        before_it = (unknown.get(flat.battery, set()) for flat in endurance.flat_before)
        unknown[endurance.battery] = set(endurance.unknown).union(*before_it)
    return [one.with_unknown(unknown[one.battery]) for one in found]


def _apart(network: Network, landing: str | None, column: str | None) -> str:
    """The landing's column, if supplies may draw in other parts by it than by the condition's."""
    return landing if landing and landing != column and network.supply_figures else ""


def _endurance(
    of: BatteryDraws,
    others: Sequence[BatteryDraws],
    phases: Sequence[Phase],
    end: Fraction | None,
) -> Endurance:
    phases = until(end, phases)
    draws = of.draws(phases)
    first = phases[0]
    stages = _timed(of, draws, end, of.stages(first, draws[0]))
    unsized = {
        o.battery
        for o in others
        if o.capacity is None and o is not of and _share_load(of, o, first)
    }
    flat_before = [
        Flat(
            battery,
            later.start,
            _amps_at(later.start, draws[k], of.asked, end),
            tuple(sorted(of.unknown(later))),
        )
        for k, later in enumerate(phases)
        if k and _changes(draws[k - 1], draws[k], exact(of.asked.recognition_minutes))
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
        unknown=tuple(sorted(unsized | {u for p in phases for u in of.unknown(p)})),
        savings=(),
        bought=(),
    )


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


def _changes(one: Draw, other: Draw, recognition: Fraction) -> bool:
    """Whether a battery gives other amps from the start of the second on."""
    past = int(other.start >= recognition)
    return one.amps[past:] != other.amps[past:]
