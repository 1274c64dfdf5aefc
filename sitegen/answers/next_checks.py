"""The further checks that distinguish what may have failed.

Every check that one could make is tried on the candidates: the best is the one whose answer leaves
the fewest of them, in the mean.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

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
from sitegen.solver.network import Network

HEALTHY = -1
"""In place of a candidate's number: nothing has failed."""

EFFORT = {"in view": 1.0, "try it": 1.2, "source off": 1.4, "open a panel": 2.0}
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
    """(what may be seen, numbers of the candidates that it leaves, by a voltmeter's error more than
    those with which it is seen); `HEALTHY` is among them where nothing need have failed."""
    leaves: float
    """Candidates left of those that it is to distinguish, in the mean over them, the healthy
    aircraft included."""


def next_checks(
    airframes: Mapping[int, Airframe],
    condition: str,
    candidates: Sequence[Explanation],
    meaning: Sequence[Loss],
    observations: Sequence[Observation],
    tolerance: float = TOLERANCE_VOLTS,
) -> list[Check]:
    """The checks that distinguish candidates, the best first.

    Parameters
    ----------
    airframes : by the number that explanations give, at the volts of each; 0 as it is.
    condition, observations : where, and what is seen.
    candidates, meaning : what may have failed, and what each means.
    tolerance : how far a voltmeter may be off, V.
    """
    if len(candidates) < 2:
        return []
    network, _ = airframes[0]
    seen = {o.subject for o in observations}
    indications = {i.id: i.kind for i in network.catalogue.indications}
    checks: list[Check] = []

    def shown_by(indication: str, losses: Sequence[Loss]) -> list[Reading]:
        return [as_seen(loss.readings[indication], indications[indication]) for loss in losses]

    def read_off(indication: str, losses: Sequence[Loss]) -> list[Reading]:
        kind = indications[indication]
        shown = shown_by(indication, losses)
        # A flag without power, and a meter of which nothing is known, may be seen in any way.
        any_way = NOT_KNOWN in shown or (kind == "flag" and BLANK in shown)
        if any_way:
            return [BLANK] * len(shown)
        if LOAD in shown:  # of which the figure is not known: it may be that of another
            shown = [LOAD if s.kind == "figure" and s.span[1] else s for s in shown]
        return distinguishable(shown)

    def add(
        effort: str,
        subject: str,
        answers: Sequence[Reading | str],
        shown: Sequence[Reading] = (),
        source_off: str | None = None,
    ) -> None:
        """Add a check; `shown` is what an indication may show, before it is read off."""
        if len(distinct := {*answers}) < 2:
            return
        left: dict[Reading | str, list[int]] = {}
        for answer in distinct:
            volts = (
                isinstance(answer, Reading) and answer.unit == "V" and replace(answer, band=None)
            )
            left[answer] = [
                k
                for k, own in enumerate(answers)
                if own == answer or (volts and agrees(shown[k], volts, tolerance))
            ]
        if all(len(numbers) == len(answers) for numbers in left.values()):
            return
        leaves = sum(len(left[answer]) for answer in answers) / len(answers)
        parts = tuple(
            (answer, tuple(sorted(k if candidates[k].failed else HEALTHY for k in left[answer])))
            for answer in sorted(left, key=str)
        )
        checks.append(Check(effort, subject, source_off, parts, leaves))

    def read(effort: str, losses: Sequence[Loss], source_off: str | None = None) -> None:
        for one in indications:
            if source_off or one not in seen:
                shown = shown_by(one, losses)
                add(effort, one, read_off(one, losses), shown, source_off)

    read("in view", meaning)
    dead = [{*loss.lost, *loss.not_powered} for loss in meaning]
    not_known = {item for loss in meaning for item in loss.not_known}
    for item in network.equipment:
        if item not in seen and item not in not_known:
            add("try it", item, ["dead" if item in d else "works" for d in dead])
    for source in _to_take_off(network, condition):
        read("source off", meaning_of(airframes, condition, candidates, source), source)
    # A device is open whatever opened it: a coil without power, a short, or its own failure.
    for device in dict.fromkeys(component for c in candidates for component, _ in c.failed):
        if "open" in network.components[device].modes:
            states = ["closed" if loss.conducts[device] else "open" for loss in meaning]
            add("open a panel", device, states)
    return sorted(checks, key=lambda c: (c.leaves * EFFORT[c.effort], EFFORT[c.effort]))


def _to_take_off(network: Network, condition: str) -> list[str]:
    """The sources that may be taken off line for a check.

    Only where external power is connected, that is on the ground: nobody should be led to take a
    generator off line in the air to find a fuse link.
    """
    here = next(c for c in network.catalogue.conditions if c.id == condition)
    on_ground = any(network.sources[s].kind == "external-power" for s in here.sources)
    return here.sources if on_ground else []
