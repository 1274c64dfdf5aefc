"""The batteries run down one after the other, and again without what might be turned off."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from sitegen.answers.endurance.battery_draws import BatteryDraws
from sitegen.answers.endurance.battery_load import Flat, Phase
from sitegen.answers.endurance.results import Saving
from sitegen.answers.endurance.stages import NO_TIME
from sitegen.quantities import Fraction

PhaseWhen = Callable[[Fraction, Flat], Phase]
"""From a minute, and the batteries that are flat by then, to how load falls on the others."""

MOST_SAVINGS = 8
"""At most this many items are listed, those that save most."""


def run_down(
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
        minute = min((t for t, _ in times if t is not None), default=None)
        if minute is None:
            ends.update({b: None for _, b in times})
            break
        together = tuple(sorted(b for t, b in times if t == minute))
        ends.update(dict.fromkeys(together, minute))
        if len(left) > len(together):
            phases.append(phase_when(minute, (*phases[-1].flat, together)))
    return phases, ends


def until(end: Fraction | None, phases: Sequence[Phase]) -> list[Phase]:
    """The phases before a battery's own end: what comes after is carried by the others alone."""
    return [p for k, p in enumerate(phases) if not k or end is None or p.start < end]


def possible_savings(
    of: BatteryDraws, batteries: Sequence[BatteryDraws], phase_when: PhaseWhen, end: Fraction | None
) -> tuple[Saving, ...]:
    """What is still on in the shed cruise, each piece as if it were off from the shedding on."""
    savings = []
    for item, amps in of.left_on(phase_when(NO_TIME, ())).items():
        if amps:
            savings += _difference(item, amps, end, without(item, of, batteries, phase_when))
    return _most_first(savings)[:MOST_SAVINGS]


def without(
    item: str, of: BatteryDraws, batteries: Sequence[BatteryDraws], phase_when: PhaseWhen
) -> Fraction | None:
    """When a battery is flat with an item off as well from the shedding on."""
    less = [replace(b, shed=b.shed | {item}) for b in batteries]
    return run_down(less, phase_when)[1][of.battery]


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
    of: BatteryDraws,
    batteries: Sequence[BatteryDraws],
    phase_when: PhaseWhen,
    phases: Sequence[Phase],
    end: Fraction | None,
    acts: Sequence[str],
) -> tuple[Saving, ...]:
    """What each act of the crew has saved of it, with all the others done: one that lowers its own
    load, or that of another battery, which then hands its load on later.
    """
    phases = until(end, phases)
    draws = {b.battery: b.draws(phases) for b in batteries}
    left_undone = [(item, 0, of.shed - {item}) for item in of.shed]
    left_undone += [(act, number, of.shed) for number, act in enumerate(acts, 1)]
    savings = []
    for thing, undone, shed in left_undone:
        undoing = [replace(b, shed=shed) for b in batteries]
        more = {b.battery: b.draws(phases, undone) for b in undoing}
        if more != draws:
            shorter = run_down(undoing, phase_when, undone)[1][of.battery]
            own, fewer = more[of.battery], draws[of.battery]
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
