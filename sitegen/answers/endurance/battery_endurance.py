"""How long each battery lasts when only batteries are left.

The rule is that of the worked example in UK CAA AIL/0194 (2004): the usable share of the amp-hours,
as ampere-minutes; less what is drawn until the crew has seen the loss and shed (*recognition*);
less what the approach and landing will draw (*landing*); the rest lasts as long as it carries the
shed load (*cruise*). All three together are the battery's time.

A battery's load is what `loads` puts on it, at the nodes that no generator, external power or
converter fed from one carries as well. When one battery is flat the net reaches another steady
state without it, and what it carried falls on those that are left. Battery charging is left out,
and so is all that lowers a battery's capacity: age, cold, a part charge.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from typing import Literal

from sitegen.answers.endurance.battery_draws import BatteryDraws
from sitegen.answers.endurance.battery_load import (
    Phase,
    Phases,
    after_acts,
    scenarios_on_battery,
)
from sitegen.answers.endurance.remarks import Remarks
from sitegen.answers.endurance.results import Endurance, Flat, Saving, Stage
from sitegen.answers.endurance.stages import (
    NO_TIME,
    Draw,
    stage_ends,
    used_in_stages,
)
from sitegen.answers.loads.range_end import is_at_top
from sitegen.answers.three_answers import must_open
from sitegen.catalogue.model import BatteryTime, Failure
from sitegen.quantities import Fraction, duration
from sitegen.solver.load_figures import exact
from sitegen.solver.network import Network
from sitegen.solver.outcome import Outcome, after_the_crew, solve
from sitegen.solver.power import Power
from sitegen.solver.scenarios import Fault, Scenario, scenarios_of

PhaseWhen = Callable[[Fraction, tuple[str, ...]], Phase]
"""From a minute, and the batteries that are flat by then, to how load falls on the others."""

MOST_SAVINGS = 8
"""At most this many items are listed, those that save most."""
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
    record = next(c for c in network.catalogue.conditions if c.id == condition)
    if not record.battery_time:
        return []
    at_once = solve(network, scenarios_of([Scenario(condition, tuple(faults))]), before, dip)
    then = failure.then if failure else None
    acts = [*then.switches, *then.pulled] if then else []
    crew = after_acts(at_once, then, acts) if then else at_once
    if not scenarios_on_battery(at_once.after) and not scenarios_on_battery(crew.after):
        return []
    found = endurances_of(network, condition, at_once, crew, failure, acts)
    stages = [at_once, after_the_crew(at_once, then)] if then else [at_once]
    opening = {device for stage in stages for device in must_open(stage).get(0, ())}
    return [*Remarks(stages[-1], stages[:-1]).on(found, 0, opening)]


def endurances_of(
    network: Network,
    condition: str,
    at_once: Outcome,
    crew: Outcome,
    failure: Failure | None = None,
    acts: Sequence[str] = (),
) -> list[Endurance]:
    """The same without the remarks, from the outcome and from what `after_acts` made of it."""
    phases = Phases(at_once, crew)
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
    asked = {s: asked_of(network, s, failure) for s in network.sources}
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
            frozenset(then.shed if then else ()),
        )
        for source in network.sources.values()
        if source.kind == "battery"
    ]
    phases, ends = _run_down(batteries, phase_when)
    # One that carries nothing now may take over when another is flat.
    carrying = [
        c for c in batteries if any(c.has_load(p) for p in phases if c.battery not in p.flat)
    ]
    found = [
        replace(
            _endurance(c, carrying, phases, ends[c.battery]),
            savings=_possible_savings(c, batteries, phase_when, ends[c.battery]),
            bought=_saved_by_crew(c, batteries, phase_when, phases, ends[c.battery], acts),
        )
        for c in carrying
    ]
    # When one is flat is as unsure as what it feeds, and so is the time of those after it.
    unknown: dict[str, set[str]] = {}
    for endurance in sorted(found, key=_flat_at):
        before_it = (unknown.get(flat.battery, set()) for flat in endurance.flat_before)
        unknown[endurance.battery] = set(endurance.unknown).union(*before_it)
    return [
        replace(endurance, unknown=tuple(sorted(unknown[endurance.battery]))) for endurance in found
    ]


def asked_of(network: Network, battery: str, failure: Failure | None = None) -> BatteryTime:
    """What is asked of a battery in a failure.

    Field by field, the failure's record takes precedence over the battery's, and that over the
    catalogue's.
    """
    source = network.sources[battery]
    own = BatteryTime() if source.usable is None else BatteryTime(usable=source.usable)
    written = {}
    for record in (
        network.catalogue.battery_time,
        own,
        source.battery_time,
        failure.battery_time if failure else None,
    ):
        if record is not None:
            written.update({name: getattr(record, name) for name in record.model_fields_set})
    return BatteryTime().model_copy(update=written)


def _run_down(
    batteries: Sequence[BatteryDraws], phase_when: PhaseWhen, undone: int = 0
) -> tuple[list[Phase], dict[str, Fraction | None]]:
    """The batteries go flat one after the other: the load in between, and when each ends.

    Parameters
    ----------
    batteries : all of them.
    phase_when : how load falls on those that are left.
    undone : the number of an act that the crew leaves out.
    """
    phases = [phase_when(NO_TIME, ())]
    ends: dict[str, Fraction | None] = {}
    while len(ends) < len(batteries):
        left = [b for b in batteries if b.battery not in ends]
        times = [(b.minutes(b.draws(phases, undone)), b.battery) for b in left]
        first = min(((t, b) for t, b in times if t is not None), default=None)
        if first is None:
            ends.update({b: None for _, b in times})
            break
        minute, battery = first
        ends[battery] = minute
        if len(left) > 1:
            phases.append(phase_when(minute, (*phases[-1].flat, battery)))
    return phases, ends


def _endurance(
    of: BatteryDraws,
    others: Sequence[BatteryDraws],
    phases: Sequence[Phase],
    end: Fraction | None,
) -> Endurance:
    phases = _until(end, phases)
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
            later.flat[-1],
            later.start,
            _amps_at(later.start, draws[k], of.asked, end),
            tuple(sorted(of.unknown(later))),
        )
        for k, later in enumerate(phases)
        if k and _changes(draws[k - 1], draws[k], exact(of.asked.recognition_minutes))
    ]
    return Endurance(
        of.battery,
        of.asked,
        of.capacity,
        *stages,
        total=end,
        reaches=_reaches(of, end),
        flat_before=tuple(flat_before),
        unknown=tuple(sorted(unsized | {u for p in phases for u in of.unknown(p)})),
        savings=(),
        bought=(),
    )


def _until(end: Fraction | None, phases: Sequence[Phase]) -> list[Phase]:
    """The phases before a battery's own end: what comes after is carried by the others alone."""
    return [p for k, p in enumerate(phases) if not k or end is None or p.start < end]


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


# What turning things off is worth: the batteries run down again without it


def _possible_savings(
    of: BatteryDraws, batteries: Sequence[BatteryDraws], phase_when: PhaseWhen, end: Fraction | None
) -> tuple[Saving, ...]:
    """What is still on in the shed cruise, each piece as if it were off from the shedding on."""
    savings = []
    for item, amps in of.left_on(phase_when(NO_TIME, ())).items():
        if amps:
            less = [replace(b, shed=b.shed | {item}) for b in batteries]
            savings += _difference(item, amps, end, _run_down(less, phase_when)[1][of.battery])
    return _most_first(savings)[:MOST_SAVINGS]


def _saved_by_crew(
    of: BatteryDraws,
    batteries: Sequence[BatteryDraws],
    phase_when: PhaseWhen,
    phases: Sequence[Phase],
    end: Fraction | None,
    acts: Sequence[str],
) -> tuple[Saving, ...]:
    """What each act of the crew that lowers its own load has saved, with all the others done."""
    phases = _until(end, phases)
    draws = of.draws(phases)
    left_undone = [(item, 0, of.shed - {item}) for item in of.shed]
    left_undone += [(act, number, of.shed) for number, act in enumerate(acts, 1)]
    savings = []
    for thing, undone, shed in left_undone:
        more = replace(of, shed=shed).draws(phases, undone)
        if more != draws:
            without = [replace(b, shed=shed) for b in batteries]
            shorter = _run_down(without, phase_when, undone)[1][of.battery]
            savings += _difference(thing, more[0].cruise - draws[0].cruise, shorter, end)
    return _most_first(savings)


def _difference(
    thing: str, amps: Fraction, shorter: Fraction | None, longer: Fraction | None
) -> list[Saving]:
    if shorter is None:
        return []
    if longer is None:
        return [Saving(thing, amps, None)]
    return [Saving(thing, amps, longer - shorter)] if longer > shorter else []


def _most_first(savings: list[Saving]) -> tuple[Saving, ...]:
    return tuple(
        sorted(savings, key=lambda g: (g.minutes is not None, -(g.minutes or NO_TIME), g.id))
    )
