"""A battery runs down, and others before it; and again without what might be turned off."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from sitegen.answers.endurance.battery_draws import BatteryDraws
from sitegen.answers.endurance.battery_load import Flat, Phase
from sitegen.answers.endurance.results import Saving
from sitegen.answers.endurance.stages import NO_TIME
from sitegen.quantities import Fraction
from sitegen.solver.load_figures import exact

PhaseWhen = Callable[[Fraction, Flat], Phase]
"""From a minute, and the batteries that are flat by then, to how load falls on the others."""

MOST_SAVINGS = 8
"""At most this many items are listed, those that save most."""


class _Line(NamedTuple):
    """A quantity and its growth if the landing begins later, per minute. Of two that are equal now
    the one that grows less comes first.
    """

    at: Fraction
    growth: Fraction

    def times(self, factor: Fraction | int) -> _Line:
        return _Line(self.at * factor, self.growth * factor)

    def minus(self, other: _Line) -> _Line:
        return _Line(self.at - other.at, self.growth - other.growth)


def run_down(
    batteries: Sequence[BatteryDraws], phase_when: PhaseWhen, undone: int = 0
) -> tuple[list[Phase], Fraction | None]:
    """How load falls on batteries until one of them is flat, and the minute at which it is.

    Parameters
    ----------
    batteries : the one that is asked about, then all others, in the stages of its time.
    phase_when : how load falls on those that are left.
    undone : the number of an act that the crew leaves out.

    Returns
    -------
    The phases before its end; the end, None without limit or where it has no amp-hours. It is the
    first at which a landing would have left nothing in it.
    """
    return _RunDown(batteries, phase_when, undone).run()


@dataclass(frozen=True)
class _RunDown:
    batteries: Sequence[BatteryDraws]
    phase_when: PhaseWhen
    undone: int
    _known: dict[Flat, tuple[dict[str, Fraction], ...]] = field(default_factory=dict)

    def _amps(self, phase: Phase, stage: int) -> dict[str, Fraction]:
        """By battery that gives something in a stage, and is not flat, how much."""
        if phase.flat not in self._known:
            sized = [b for b in self.batteries if b.capacity is not None]
            amps = {b.battery: b.draws([phase], self.undone)[0].amps for b in sized}
            self._known[phase.flat] = tuple(
                {b: of[k] for b, of in amps.items() if of[k] and b not in phase.all_flat}
                for k in range(3)
            )
        return self._known[phase.flat][stage]

    def run(self) -> tuple[list[Phase], Fraction | None]:
        own, minute = self.batteries[0].battery, NO_TIME
        asked = self.batteries[0].asked
        shed, landing_minutes = exact(asked.recognition_minutes), exact(asked.landing_minutes)
        left = {b.battery: b.capacity for b in self.batteries if b.capacity is not None}
        phases = [self.phase_when(NO_TIME, ())]
        while True:
            stage = 0 if minute < shed else 1
            amps = self._amps(phases[-1], stage)
            times = {b: left[b] / given for b, given in amps.items()}
            steps = [*times.values()]
            landing = _Landing()
            if not stage:
                steps.append(shed - minute)
                if own in times and times[own] == min(steps):
                    return phases, minute + times[own]
            else:
                lines = {b: _Line(one, -amps.get(b, NO_TIME)) for b, one in left.items()}
                self._land(landing, lines, phases[-1], minute)
                if landing.end is None and not left.get(own, 1):
                    landing.end = minute + landing_minutes
                if landing.end is not None:
                    return landing.with_phases(phases, landing.end, NO_TIME)
                steps += landing.holds
            if not steps:
                return phases, None
            step = min(steps)
            minute += step
            if step == landing.reach and step not in times.values():
                return landing.with_phases(phases, minute + landing_minutes, step)
            left = {b: one - amps[b] * step if b in amps else one for b, one in left.items()}
            flat = tuple(sorted(b for b, time in times.items() if time == step and b != own))
            if flat:
                left = {b: one for b, one in left.items() if b not in flat}
                phases.append(self.phase_when(minute, (*phases[-1].flat, flat)))

    def _land(
        self, landing: _Landing, left: Mapping[str, _Line], phase: Phase, minute: Fraction
    ) -> None:
        """What a landing that begins at this minute does, with what is left in the batteries."""
        own = self.batteries[0]
        rest = _Line(exact(own.asked.landing_minutes), NO_TIME)
        start = _Line(minute, Fraction(1))
        while True:
            amps = self._amps(phase, 2)
            times = {b: left[b].times(1 / given) for b, given in amps.items()}
            first = min((*times.values(), rest))
            for other in (*times.values(), rest):
                if other.growth < first.growth:
                    landing.holds.append((other.at - first.at) / (first.growth - other.growth))
            mine = times.get(own.battery)
            if mine and mine.at == first.at:
                landing.end = start.at + first.at
            elif first == rest and mine and mine.growth < rest.growth:
                landing.reach = (mine.at - rest.at) / (rest.growth - mine.growth)
            if landing.end is not None or first == rest:
                return
            flat = tuple(sorted(b for b, time in times.items() if time == first))
            left = {
                b: one.minus(first.times(amps[b])) if b in amps else one
                for b, one in left.items()
                if b not in flat
            }
            start, rest = start.minus(first.times(-1)), rest.minus(first)
            phase = self.phase_when(start.at, (*phase.flat, flat))
            landing.phases.append((phase, start.growth))


@dataclass
class _Landing:
    """What a landing does to the batteries."""

    phases: list[tuple[Phase, Fraction]] = field(default_factory=list)
    """Those that begin in it; by how much later if it begins a minute later."""
    holds: list[Fraction] = field(default_factory=list)
    """If it begins less than any of these minutes later, all is flat in the same order."""
    end: Fraction | None = None
    """When the battery is flat, if it is before the landing ends."""
    reach: Fraction | None = None
    """If it begins these minutes later, all flat in the same order, the battery is as it ends."""

    def with_phases(
        self, before: Sequence[Phase], end: Fraction, later: Fraction
    ) -> tuple[list[Phase], Fraction]:
        """The phases until a battery is flat, with those of a landing that begins later."""
        first, *others = before
        others += (replace(p, start=p.start + growth * later) for p, growth in self.phases)
        return [first, *(p for p in others if p.start < end)], end


def possible_savings(
    batteries: Sequence[BatteryDraws], phase_when: PhaseWhen, end: Fraction | None
) -> tuple[Saving, ...]:
    """What is still on in the shed cruise, each piece as if it were off from the shedding on.

    What provides a function is left out: that is not to be given up for minutes.
    """
    savings = []
    for item, amps in batteries[0].left_on(phase_when(NO_TIME, ())).items():
        if amps and item not in batteries[0].needed:
            savings += _difference(item, amps, end, without(item, batteries, phase_when))
    return _most_first(savings)[:MOST_SAVINGS]


def without(item: str, batteries: Sequence[BatteryDraws], phase_when: PhaseWhen) -> Fraction | None:
    """When a battery is flat with an item off as well from the shedding on."""
    return run_down([replace(b, shed=b.shed | {item}) for b in batteries], phase_when)[1]


def at_least(
    savings: Sequence[Saving], end: Fraction | None, ends: Callable[[str], list[Fraction | None]]
) -> tuple[Saving, ...]:
    """The same where the sources may be at other volts, where a battery then lasts the least.

    Parameters
    ----------
    savings, end : at certain volts, the battery's end there.
    ends : of an item that is off as well, the battery's ends at the other volts.
    """
    found: list[Saving] = []
    for one in savings:
        longer = None if one.minutes is None or end is None else end + one.minutes
        known = [t for t in (longer, *ends(one.id)) if t is not None]
        found += _difference(one.id, one.amps, end, min(known, default=None))
    return _most_first(found)


def saved_by_crew(
    batteries: Sequence[BatteryDraws],
    phase_when: PhaseWhen,
    end: Fraction | None,
    acts: Sequence[str],
) -> tuple[Saving, ...]:
    """What each act of the crew has saved of it, with all the others done: one that lowers its own
    load, or that of another battery, which then hands its load on later.
    """
    of = batteries[0]
    left_undone = [(item, 0, of.shed - {item}) for item in of.shed]
    left_undone += [(act, number, of.shed) for number, act in enumerate(acts, 1)]
    if not left_undone:
        return ()
    phases, _ = run_down(batteries, phase_when)
    draws = [b.draws(phases) for b in batteries]
    savings = []
    for thing, undone, shed in left_undone:
        undoing = [replace(b, shed=shed) for b in batteries]
        more = [b.draws(phases, undone) for b in undoing]
        if more != draws:
            shorter = run_down(undoing, phase_when, undone)[1]
            own, fewer = more[0], draws[0]
            saved = _difference(thing, own[0].cruise - fewer[0].cruise, shorter, end)
            savings += [replace(s, spares_another=own == fewer) for s in saved]
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
