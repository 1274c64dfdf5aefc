"""The further checks that distinguish what may have failed.

Every check that one could make is tried on the candidates: the best is the one whose answer leaves
the fewest of them, in the mean.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, replace

from sitegen.answers.cut_sets import closure_of
from sitegen.answers.drop import Loss
from sitegen.answers.elsewhere_in_range import Airframe
from sitegen.answers.explanations import Explanation, meaning_of
from sitegen.answers.observations import Observation, agrees
from sitegen.answers.readings import (
    BLANK,
    LOAD,
    NOT_KNOWN,
    TOLERANCE_VOLTS,
    Reading,
    as_seen,
    distinguishable,
)
from sitegen.catalogue.kinds import COIL_OPERATED
from sitegen.catalogue.model import Equipment
from sitegen.solver.network import Component, Network

ANSWERS_OF = {"breaker panel": ("in", "popped")}
"""By effort: what a device that conducts is called there, and one that is open."""

HEALTHY = -1
"""In place of a candidate's number: nothing has failed."""

LAST = "on the ground"
"""The effort of what nothing says can be reached here, as a panel to open: after all others."""

NO_SIGN = ("21-58", "23-7", "24", "30", "31-3", "36")
"""How the number (ATA iSpec 2200) begins of what nothing in the cockpit shows at once to work: the
cooling of equipment, recorders, coils and control units, heat against ice, bleed air valves (common
practice, no source). Nobody is asked to try it, nor what follows."""

NOT_WORKED = ("26", "29", "32", "61", *map(str, range(71, 81)))
"""Fire bottles, hydraulics, landing gear, propellers and engines are not worked to find a failure
(common practice, no source)."""

TRIED_ON_GROUND = ("22", "27", "28", "33-4", "52")
"""What is not tried in flight: autopilot, flying controls, fuel and doors, which a crew works on
the ground before it flies; and the lights outside (common practice, no source)."""

ACTS = ("try it", "source off")
"""The efforts of checks that do something to the aircraft."""

EFFORT = {
    "in view": 1.0,
    "try it": 1.2,
    "breaker panel": 1.2,
    "source off": 1.4,
    "open a panel": 2.0,
    LAST: 2.0,
}
"""The weight of a check against another that leaves as few candidates: what is in view is first."""


@dataclass(frozen=True)
class Check:
    """One further check, and what it would leave."""

    effort: str
    """A key of `EFFORT`."""
    subject: str
    """The indication, equipment or device to look at."""
    source_off: str | None
    """A source to take off line first."""
    answers: tuple[tuple[Reading | str, tuple[int, ...]], ...]
    """(what may be seen, numbers of the causes that it leaves, by a voltmeter's error more than
    those with which it is seen); `HEALTHY` is among them where nothing need have failed."""
    leaves: float
    """Candidates left of those that it is to distinguish, in the mean over them, the healthy
    aircraft included."""


def next_checks(
    airframes: Mapping[int, Airframe],
    condition: str,
    causes: Mapping[int, tuple[Explanation, Loss]],
    observations: Sequence[Observation],
    unexplained: Set[str] = frozenset(),
    tolerance: float = TOLERANCE_VOLTS,
) -> list[Check]:
    """The checks that distinguish causes, the best first.

    Parameters
    ----------
    airframes : by the number that explanations give, at the volts of each; 0 as it is.
    condition, observations : where, and what is seen.
    causes : by number what may have failed, and what it means.
    unexplained : what some of them leave unexplained: an item that may itself have failed says
        nothing of what requires it.
    tolerance : how far a voltmeter may be off, V.

    Notes
    -----
    A candidate may explain what is seen at the volts of another too: an answer leaves all that give
    it at the volts of any. So what only shows where in its range a source is distinguishes nothing.
    """
    if len(causes) < 2:
        return []
    numbers, candidates = list(causes), [explanation for explanation, _ in causes.values()]
    meaning = [loss for _, loss in causes.values()]
    volts_of = {id(airframes[c.at]): c.at for c in candidates}

    def everywhere(own: Sequence[Loss], source_off: str | None = None) -> list[list[Loss]]:
        """By candidate what it means at its own volts, then at those of the others."""
        anywhere = [
            meaning_of(airframes, condition, [c._replace(at=at) for c in candidates], source_off)
            for at in volts_of.values()
            if len(volts_of) > 1
        ]
        return [list(each) for each in zip(own, *anywhere, strict=True)]

    network, _ = airframes[0]
    seen = {o.subject for o in observations}
    indications = {i.id: i.kind for i in network.catalogue.indications}
    checks: list[Check] = []

    def shown_by(indication: str, losses: Sequence[Sequence[Loss]]) -> list[list[Reading]]:
        kind = indications[indication]
        return [[as_seen(loss.readings[indication], kind) for loss in each] for each in losses]

    def read_off(indication: str, may_show: Sequence[Sequence[Reading]]) -> list[list[Reading]]:
        kind = indications[indication]
        shown = [reading for each in may_show for reading in each]
        # A flag without power, and a meter of which nothing is known, may be seen in any way.
        if NOT_KNOWN in shown or (kind == "flag" and BLANK in shown):
            return [[BLANK] for _ in may_show]
        if LOAD in shown:  # of which the figure is not known: it may be that of another
            shown = [LOAD if s.kind == "figure" and s.span[1] else s for s in shown]
        seen_as = iter(distinguishable(shown))
        return [[next(seen_as) for _ in each] for each in may_show]

    def add(
        effort: str,
        subject: str,
        answers: Sequence[Sequence[Reading | str]],
        shown: Sequence[Sequence[Reading]] = (),
        source_off: str | None = None,
    ) -> None:
        """Add a check; `shown` is what an indication may show, before it is read off."""
        if len(distinct := {own for own, *_ in answers}) < 2:
            return
        left: dict[Reading | str, list[int]] = {}
        for answer in distinct:
            volts = (
                isinstance(answer, Reading) and answer.unit == "V" and replace(answer, band=None)
            )
            left[answer] = [
                k
                for k, each in enumerate(answers)
                if answer in each
                or (volts and any(agrees(reading, volts, tolerance) for reading in shown[k]))
            ]
        if all(len(numbers) == len(answers) for numbers in left.values()):
            return
        leaves = sum(len(left[own]) for own, *_ in answers) / len(answers)
        parts = tuple(
            (answer, tuple(sorted(numbers[k] for k in left[answer])))
            for answer in sorted(left, key=str)
        )
        checks.append(Check(effort, subject, source_off, parts, leaves))

    def read(effort: str, losses: Sequence[Sequence[Loss]], source_off: str | None = None) -> None:
        for one in indications:
            if source_off or one not in seen:
                shown = shown_by(one, losses)
                add(effort, one, read_off(one, shown), shown, source_off)

    on_ground = is_on_ground(network, condition)
    at_any = everywhere(meaning)
    read("in view", at_any)
    dead = [[{*loss.lost, *loss.not_powered} for loss in each] for each in at_any]
    not_known = {item for each in at_any for loss in each for item in loss.not_known}
    for item, record in network.equipment.items():
        unsure = item in not_known or not unexplained.isdisjoint(closure_of(network, (item,)))
        if is_tried(record, on_ground) and item not in seen and not unsure:
            add("try it", item, [["dead" if item in d else "works" for d in each] for each in dead])
    # Nobody should be led to take a generator off line in the air to find a fuse link.
    for source in _sources_in(network, condition) if on_ground else ():
        off = meaning_of(airframes, condition, candidates, source)
        read("source off", everywhere(off, source), source)
    # A device is open whatever opened it: a short, or its own failure.
    for device in network.components.values():
        if "open" in device.modes:
            effort = _effort(network, device, on_ground)
            closed, is_open = ANSWERS_OF.get(effort, ("closed", "open"))
            found = [[_is_found_closed(network, device, loss) for loss in each] for each in at_any]
            add(effort, device.id, [[closed if c else is_open for c in each] for each in found])
    # To read harms nothing: nobody is asked to do what says no more than a reading.
    read_off_already = {_parts(c) for c in checks if c.effort == "in view"}
    return sorted(
        (c for c in checks if c.effort not in ACTS or _parts(c) not in read_off_already),
        key=lambda c: (c.effort == LAST, c.leaves * EFFORT[c.effort], EFFORT[c.effort]),
    )


def _is_found_closed(network: Network, device: Component, loss: Loss) -> bool:
    """A coil has no power where a panel is open: its contacts are closed if they have stuck so, or
    if a spring closes them.
    """
    if device.kind in COIL_OPERATED and device.id in network.switching:
        if is_sprung_closed(network, device.id):
            return (device.id, "open") not in loss.failed
        return (device.id, "stuck-closed") in loss.failed
    return loss.conducts[device.id]


def is_sprung_closed(network: Network, device: str) -> bool:
    """Whether it closes without power: for want of volts somewhere, and with none anywhere."""
    return any(
        (terms.dead or terms.volts_below) and not (terms.live or terms.volts_above)
        for terms in network.switching[device]
    )


def _parts(check: Check) -> frozenset[tuple[int, ...]]:
    """What its answers leave, whatever they are called."""
    return frozenset(left for _, left in check.answers)


def is_tried(equipment: Equipment, on_ground: bool) -> bool:
    """Whether somebody may be asked to try it: not what can hurt someone."""
    not_here = NO_SIGN + NOT_WORKED + (() if on_ground else TRIED_ON_GROUND)
    return not equipment.hazard and not equipment.ata.startswith(not_here)


def _effort(network: Network, device: Component, on_ground: bool) -> str:
    """What it takes to look at a device."""
    in_reach = on_ground or not is_ground_only(network, device)
    if device.kind == "breaker" and device.panel and in_reach:
        return "breaker panel"
    return "open a panel" if on_ground else LAST


def is_ground_only(network: Network, device: Component) -> bool:
    """Whether it is on a panel that nobody can reach in flight."""
    return any(p.id == device.panel and p.ground_only for p in network.catalogue.panels)


def is_on_ground(network: Network, condition: str) -> bool:
    """Whether external power is connected: nothing else says that one is on the ground."""
    return any(network.sources[s].kind == "external-power" for s in _sources_in(network, condition))


def _sources_in(network: Network, condition: str) -> list[str]:
    return next(c for c in network.catalogue.conditions if c.id == condition).sources
