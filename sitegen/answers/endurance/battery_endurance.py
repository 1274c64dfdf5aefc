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

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from sitegen.answers.endurance.battery_load import (
    Phase,
    Phases,
    after_acts,
    scenarios_on_battery,
)
from sitegen.answers.endurance.results import NOTHING, Endurance, Flat, Saving, Stage
from sitegen.answers.endurance.stages import (
    Draw,
    flat_after,
    stage_ends,
    used_in_stages,
)
from sitegen.catalogue.model import BatteryTime, Failure
from sitegen.solver.network import Network
from sitegen.solver.outcome import solve
from sitegen.solver.power import Power
from sitegen.solver.scenarios import Fault, Scenario, scenarios_of

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
) -> list[Endurance]:
    """How long each battery lasts that carries load in one scenario.

    Parameters
    ----------
    network : one airframe's wiring.
    condition : a condition's id.
    faults : (component id, mode) of everything that has failed; empty for the condition itself.
    failure : the named failure, if it is one: what the crew does, and what is asked.
    before : the solved conditions, where the caller has them.

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
    at_once = solve(network, scenarios_of([Scenario(condition, tuple(faults))]), before)
    then = failure.then if failure else None
    acts = [*then.switches, *then.pulled] if then else []
    crew = after_acts(at_once, then, acts) if then else at_once
    if not scenarios_on_battery(at_once.after) and not scenarios_on_battery(crew.after):
        return []
    phase_when = Phases(at_once, crew)
    asked = {s: asked_of(network, s, failure) for s in network.sources}
    batteries = [
        _Battery(
            source.id,
            asked[source.id],
            source.amp_hours * asked[source.id].usable * MINUTES if source.amp_hours else None,
            network.figures[record.loads, False],
            network.figures[asked[source.id].landing_column or record.loads, False],
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
    for endurance in sorted(found, key=lambda c: math.inf if c.total is None else c.total):
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


@dataclass(frozen=True)
class _Battery:
    """One battery, with what is needed to turn its shares into amps."""

    battery: str
    asked: BatteryTime
    capacity: float | None
    loads: Mapping[str, float | None]
    """Figures by equipment in the condition's column, A."""
    landing: Mapping[str, float | None]
    shed: frozenset[str]

    def draws(self, phases: Iterable[Phase], undone: int = 0) -> list[Draw]:
        """Its load by phase; `undone` is the number of an act that the crew leaves out."""
        found = []
        for phase in phases:
            at_once = phase.at_once.get(self.battery, {})
            crew = self.crew(phase, undone)
            found.append(
                Draw(
                    phase.start,
                    _amps(at_once, self.loads),
                    _amps(crew, self.loads),
                    _amps(crew, self.landing),
                )
            )
        return found

    def crew(self, phase: Phase, undone: int = 0) -> dict[str, float]:
        """Its shares after the crew has acted, without what the crew sheds."""
        shares = phase.crew[undone].get(self.battery, {})
        return {item: share for item, share in shares.items() if item not in self.shed}

    def has_load(self, phase: Phase) -> bool:
        """It gives something, or feeds equipment that has no figure."""
        [draw] = self.draws([phase])
        given = max(draw.recognition, draw.cruise, draw.landing)
        return given > NOTHING or bool(self.unknown(phase))

    def unknown(self, phase: Phase) -> set[str]:
        """Equipment that draws from it in any stage and has no figure there."""
        [draw] = self.draws([phase])
        return {item for stage in self.stages(phase, draw) for item in stage.unknown}

    def stages(self, phase: Phase, draw: Draw) -> tuple[Stage, Stage, Stage]:
        """The three stages with their amps; how long they last is left open."""
        at_once, crew = phase.at_once.get(self.battery, {}), self.crew(phase)
        return (
            Stage(draw.recognition, None, None, _missing(at_once, self.loads)),
            Stage(draw.cruise, None, None, _missing(crew, self.loads)),
            Stage(draw.landing, None, None, _missing(crew, self.landing)),
        )

    def minutes(self, draws: Sequence[Draw]) -> float | None:
        """When it is flat; None without limit, or where it has no amp-hours."""
        return None if self.capacity is None else flat_after(self.capacity, draws, self.asked)


def _amps(shares: Mapping[str, float], figures: Mapping[str, float | None]) -> float:
    return sum(share * (figures.get(item) or 0.0) for item, share in shares.items())


def _missing(shares: Mapping[str, float], figures: Mapping[str, float | None]) -> tuple[str, ...]:
    return tuple(sorted(item for item in shares if figures.get(item) is None))


def _run_down(
    batteries: Sequence[_Battery], phase_when: Phases, undone: int = 0
) -> tuple[list[Phase], dict[str, float | None]]:
    """The batteries go flat one after the other: the load in between, and when each ends.

    Parameters
    ----------
    batteries : all of them.
    phase_when : how load falls on those that are left.
    undone : the number of an act that the crew leaves out.
    """
    phases = [phase_when.flat(0.0, ())]
    ends: dict[str, float | None] = {}
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
            phases.append(phase_when.flat(minute, (*phases[-1].flat, battery)))
    return phases, ends


def _endurance(
    of: _Battery,
    others: Sequence[_Battery],
    phases: Sequence[Phase],
    end: float | None,
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
        Flat(later.flat[-1], later.start, _amps_at(later.start, draws[k], of.asked, end))
        for k, later in enumerate(phases)
        if k and _changes(draws[k - 1], draws[k])
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


def _until(end: float | None, phases: Sequence[Phase]) -> list[Phase]:
    """The phases before a battery's own end: what comes after is carried by the others alone."""
    return [p for k, p in enumerate(phases) if not k or end is None or p.start < end - NOTHING]


def _timed(
    of: _Battery, draws: Sequence[Draw], end: float | None, stages: tuple[Stage, Stage, Stage]
) -> tuple[Stage, Stage, Stage]:
    recognition, cruise, landing = stages
    if of.capacity is None:
        return stages
    if end is None:
        shed, reserve = of.asked.recognition_minutes, of.asked.landing_minutes
        return (
            replace(recognition, minutes=shed, used=used_in_stages(draws, of.asked, shed)[0]),
            cruise,
            replace(landing, minutes=reserve, used=draws[-1].landing * reserve),
        )
    shed, land = stage_ends(end, of.asked)
    used = used_in_stages(draws, of.asked, end)
    after, last = _in_force(draws, shed), _in_force(draws, land)
    return (
        replace(recognition, minutes=shed, used=used[0]),
        replace(cruise, amps=after.cruise, minutes=land - shed, used=used[1]),
        replace(landing, amps=last.landing, minutes=end - land, used=used[2]),
    )


def _in_force(draws: Sequence[Draw], minute: float) -> Draw:
    return [d for d in draws if d.start <= minute + NOTHING][-1]


def _amps_at(minute: float, draw: Draw, asked: BatteryTime, end: float | None) -> float:
    shed, land = stage_ends(math.inf if end is None else end, asked)
    if minute < shed:
        return draw.recognition
    return draw.cruise if minute < land else draw.landing


def _reaches(
    of: _Battery, end: float | None
) -> Literal["recognition", "landing", "through", "without-limit", "not-known"]:
    if of.capacity is None:
        return "not-known"
    if end is None:
        return "without-limit"
    if end < of.asked.recognition_minutes - NOTHING:
        return "recognition"
    reserve = of.asked.recognition_minutes + of.asked.landing_minutes
    return "landing" if end < reserve - NOTHING else "through"


def _share_load(one: _Battery, other: _Battery, phase: Phase) -> bool:
    return any(
        shares.get(one.battery, {}).keys() & shares.get(other.battery, {}).keys()
        for shares in (phase.at_once, phase.crew[0])
    )


def _changes(one: Draw, other: Draw) -> bool:
    return replace(one, start=0.0) != replace(other, start=0.0)


# What turning things off is worth: the batteries run down again without it


def _possible_savings(
    of: _Battery, batteries: Sequence[_Battery], phase_when: Phases, end: float | None
) -> tuple[Saving, ...]:
    """What is still on in the shed cruise, each piece as if it were off from the shedding on."""
    savings = []
    for item, share in of.crew(phase_when.flat(0.0, ())).items():
        amps = share * (of.loads.get(item) or 0.0)
        if amps > NOTHING:
            less = [replace(b, shed=b.shed | {item}) for b in batteries]
            savings += _difference(item, amps, end, _run_down(less, phase_when)[1][of.battery])
    return _most_first(savings)[:MOST_SAVINGS]


def _saved_by_crew(
    of: _Battery,
    batteries: Sequence[_Battery],
    phase_when: Phases,
    phases: Sequence[Phase],
    end: float | None,
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
    thing: str, amps: float, shorter: float | None, longer: float | None
) -> list[Saving]:
    if shorter is None:
        return []
    if longer is None:
        return [Saving(thing, amps, None)]
    return [Saving(thing, amps, longer - shorter)] if longer - shorter > NOTHING else []


def _most_first(savings: list[Saving]) -> tuple[Saving, ...]:
    return tuple(
        sorted(savings, key=lambda g: (g.minutes is not None, -round(g.minutes or 0.0, 6), g.id))
    )
