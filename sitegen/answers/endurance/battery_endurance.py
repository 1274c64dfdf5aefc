"""How long each battery lasts when only batteries are left.

The rule is that of the worked example in UK CAA AIL/0194 (2004): the usable share of the amp-hours,
as ampere-minutes; less what is drawn until the crew has seen the loss and shed (*recognition*);
less what the approach and landing will draw (*landing*); the rest lasts as long as it carries the
shed load (*cruise*). All three together are the battery's time.

A battery's load is what `loads` puts on it, beside other sources too. It floats and gives nothing
where a generator, external power or a converter fed from one holds its terminals at its own volts
or more. When another battery is flat before it, in its own stages, the net reaches another steady
state without that, from the one before, and what it carried falls on those that are left. What
draws over a node of which nothing says who carries it has no figure. Battery charging is left out,
and so is all that lowers a battery's capacity: age, cold, a part charge.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial

from sitegen.answers.endurance.at_certain_volts import Run, batteries_of, flat_at
from sitegen.answers.endurance.battery_load import (
    LoadShares,
    Phases,
    after_acts,
    scenarios_on_battery,
)
from sitegen.answers.endurance.remarks import Remarks
from sitegen.answers.endurance.results import Endurance
from sitegen.answers.loads.range_end import Place
from sitegen.answers.overload import open_by_overload
from sitegen.answers.three_answers import must_open
from sitegen.catalogue.model import NO_ACTS, Failure, Then, without_acts
from sitegen.quantities import LONGEST_MINUTES, Fraction, duration
from sitegen.solver.network import Network
from sitegen.solver.outcome import Outcome, after_the_crew, solve
from sitegen.solver.power import Power
from sitegen.solver.scenarios import Fault, Scenario, scenarios_of


def battery_endurances(
    network: Network,
    condition: str,
    faults: Sequence[Fault],
    failure: Failure | None = None,
    before: Power | None = None,
    dip: bool = False,
    overload: bool = False,
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
    overload : what is overloaded in that answer opens.

    Returns
    -------
    The endurance of every battery that carries something, at once or after the crew has acted,
    alone or with others; in the author's order of sources. Empty where the condition says
    `battery-time: false`.

    Notes
    -----
    Without a `then` the load after the recognition is the load before it. A battery that takes
    over only when another is flat has no endurance; one that takes over only when something opens
    by overload has one with no load, and its minutes are those `if_it_opens`. Minutes count from
    the failure, also where the crew's acts put the load on the battery.

    References
    ----------
    UK CAA, AIL/0194 (2004): the worked example. 14 CFR 23.1353(h) (1-1-14 edition): 30 minutes, 60
    above 25,000 ft, recognition and shedding included.
    """
    cases = [(condition, tuple(faults), failure)]
    return endurances_of_cases(network, cases, before, dip, overload)[0]


Case = tuple[str, tuple[Fault, ...], Failure | None]
"""A condition, what fails in it, and the named failure, if it is one."""


def endurances_of_cases(
    network: Network,
    cases: Sequence[Case],
    before: Power | None = None,
    dip: bool = False,
    overload: bool = False,
) -> list[list[Endurance]]:
    """Those of some cases, as `battery_endurances` has them, solved together.

    The crew acts in all of the cases, or in none.
    """
    timed = {c.id for c in network.catalogue.conditions if c.battery_time}
    found: list[list[Endurance]] = [[] for _ in cases]
    numbers = [k for k, (condition, _, _) in enumerate(cases) if condition in timed]
    if not numbers:
        return found
    together = _Together(network, [cases[k] for k in numbers], before, dip, overload)
    opening = [] if overload else [numbers[k] for k in together.opening]
    while numbers:
        on_battery = together.on_battery
        if len(on_battery) == len(numbers):
            for k, number in enumerate(numbers):
                found[number] = together.of(k)
            break
        numbers = [numbers[k] for k in on_battery]
        together = _Together(network, [cases[k] for k in numbers], before, dip, overload)
    return beside_overload(network, cases, found, opening, before, dip)


def beside_overload(
    network: Network,
    cases: Sequence[Case],
    found: Sequence[Sequence[Endurance]],
    opening: Sequence[int],
    before: Power | None,
    dip: bool,
) -> list[list[Endurance]]:
    """Endurances of some cases, each with its minutes in answer 3, where something must open.

    `opening`: the numbers of the cases in which it must, at once or after the crew has acted. A
    battery that carries something in answer 3 alone is there too: nothing draws from it yet.
    """
    beside = [*map(list, found)]
    if not opening:
        return beside
    opened = endurances_of_cases(network, [cases[k] for k in opening], before, dip, overload=True)
    for k, of_it in zip(opening, opened, strict=True):
        then = {one.battery: one for one in of_it}
        later = then.keys() - {one.battery for one in found[k]}
        if later:
            alone = _Together(network, [cases[k]], before, dip, overload=False)
            beside[k] = alone.of(0, idle=later)
        beside[k] = [_beside(one, then.get(one.battery)) for one in beside[k]]
    return beside


def _beside(one: Endurance, opened: Endurance | None) -> Endurance:
    # What is over its limit with nothing failed does not open.
    opens = opened is None or opened.still_closed != one.still_closed
    return replace(one, if_it_opens=(opened,)) if one.still_closed and opens else one


@dataclass(frozen=True)
class _Together:
    """Some cases solved together."""

    network: Network
    cases: Sequence[Case]
    before: Power | None
    dip: bool
    overload: bool

    def of(self, number: int, idle: Collection[str] = ()) -> list[Endurance]:
        """The endurances of one of them; `idle`: batteries that have one with nothing to carry."""
        condition, _, failure = self.cases[number]
        crew, numbers = self._crew
        phases = Phases(self._at_once, number, crew, numbers[number])
        acts = _acts(condition, failure)
        found = endurances_of(self.network, condition, phases, failure, acts, idle=idle)
        if failure and failure.has_acts:
            found = self._beside_no_acts(found, number)
        return [*self._remarks.on(found, number)]

    def _beside_no_acts(self, found: Sequence[Endurance], number: int) -> list[Endurance]:
        """The same, each with whether it would last as long if the crew did nothing."""
        condition, _, failure = self.cases[number]
        phases = Phases(self._at_once, number, self._at_once, [number])
        nobody = failure and without_acts(failure)
        undone = endurances_of(self.network, condition, phases, nobody, gains=False)
        return [
            replace(
                one,
                crew_acted=True,
                same_without_acts=any(map(one.lasts_the_same, undone)),
            )
            for one in found
        ]

    @property
    def opening(self) -> list[int]:
        """Those in which something must open by overload, at once or after the crew has acted."""
        return sorted({k for stage in self._stages for k in must_open(stage)})

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
        outcome = solve(self.network, scenarios, self.before, self.dip)
        return LoadShares(open_by_overload(outcome)[0] if self.overload else outcome)

    @cached_property
    def _thens(self) -> list[Then]:
        return [
            failure.crew_does(condition)
            for condition, _, failure in self.cases
            if failure and failure.has_acts
        ]

    @cached_property
    def _crew(self) -> tuple[LoadShares, Sequence[Sequence[int]]]:
        if not self._thens:
            return self._at_once, [[k] for k in range(len(self.cases))]
        acts = [_acts(condition, failure) for condition, _, failure in self.cases]
        outcome, numbers = after_acts(self._at_once.outcome, self._thens, acts, self.overload)
        return LoadShares(outcome), numbers

    @cached_property
    def _stages(self) -> list[Outcome]:
        at_once = self._at_once.outcome
        if not self._thens:
            return [at_once]
        acted = after_the_crew(at_once, self._thens)
        return [at_once, open_by_overload(acted)[0] if self.overload else acted]

    @cached_property
    def _remarks(self) -> Remarks:
        return Remarks(self._stages[-1], self._stages[:-1])


def _acts(condition: str, failure: Failure | None) -> list[str]:
    """The switches that the crew sets, and the breakers that it pulls."""
    then = failure.crew_does(condition) if failure else NO_ACTS
    return [*then.switches, *then.pulled]


def endurances_of(
    network: Network,
    condition: str,
    phases: Phases,
    failure: Failure | None = None,
    acts: Sequence[str] = (),
    gains: bool = True,
    idle: Collection[str] = (),
) -> list[Endurance]:
    """The same without the remarks, from how load falls on the batteries; with `gains`, what could
    be turned off as well, and what the crew's acts have saved; `idle`: batteries that are among
    them with nothing to carry.
    """
    batteries = batteries_of(network, condition, failure)
    # One that takes over when another is flat may do so at some volts only.
    of_battery: dict[str, list[_AtPlace]] = {b.battery: [] for b in batteries}
    for place in phases.places:
        here = [replace(b, _known={}) for b in batteries]
        run = Run(here, partial(phases.flat, place), acts, idle)
        for one in run.endurances:
            of_battery[one.battery].append(
                (replace(one, at_volts=_volts(network, one, place)), run)
            )
    return [_judged_by_the_lower(found, gains) for found in of_battery.values() if found]


def _volts(network: Network, one: Endurance, place: Place) -> float | None:
    """Of a battery that has a range, its own volts."""
    source = network.sources[one.battery]
    if place is None or not source.volts_range:
        return source.volts if source.volts_range else None
    return source.volts_range[one.battery in place]


_AtPlace = tuple[Endurance, Run]
"""One battery's endurance with sources at certain volts, and how they run down there."""


def _judged_by_the_lower(found: Sequence[_AtPlace], gains: bool) -> Endurance:
    """Of the endurances at several volts the shortest, with the longest and with all that is not
    known of any.
    """
    in_order = sorted(found, key=lambda each: flat_at(each[0]))
    shortest, run = in_order[0]
    others = {_order(one): one for one, _ in in_order[1:]}
    others.pop(_order(shortest), None)
    lasts = run.with_gains(shortest, [r for _, r in in_order[1:]]) if gains else shortest
    lasts = replace(lasts, elsewhere=tuple(others.values()))
    shorter = lasts.with_unknown({name for one, _ in found for name in one.unknown})
    if shorter.total is None:
        return shorter
    most = in_order[-1][0].total
    if most is None:
        most = Fraction(LONGEST_MINUTES + 1)
    return shorter if duration(shorter.total) == duration(most) else replace(shorter, up_to=most)


def _order(endurance: Endurance) -> object:
    """What the remarks follow from: which batteries are flat before it, one after the other, which
    of them change its load, and which of them are flat before the landing.
    """
    flat = [together for _, together in endurance.flat_together]
    changing = {one.battery for one in endurance.flat_before}
    lands = endurance.flat_before_landing, bool(endurance.landing.minutes)
    return *flat, frozenset(changing), lands
