"""Troubleshooting as plain text and JSON."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from sitegen.answers.cut_sets import LARGEST_SET, CutSet
from sitegen.answers.device_ends import by_hazard, live_sides
from sitegen.answers.drop import Loss, named_failure
from sitegen.answers.next_checks import HEALTHY, LAST, Check, is_ground_only, is_on_ground
from sitegen.answers.observations import Observation
from sitegen.answers.readings import BLANK, LIT, NOT_KNOWN, UNLIT, Reading
from sitegen.answers.single_failures import CONFLICT
from sitegen.answers.three_answers import REMARKS, answer_json
from sitegen.answers.troubleshoot import Diagnosis, LeftOut
from sitegen.quantities import PLAIN
from sitegen.solver.network import Network
from sitegen.solver.scenarios import Fault
from sitegen.terminal.shared_text import (
    CAUTION,
    fault_text,
    hazard_lines,
    heading,
)
from sitegen.words import counted, join_words, sets_not_tried

NOT_COUNTED = (
    "Only failures of the wiring are tried here, as open, shorted or stuck: not a poor joint. A"
    " dead item may itself have failed, a meter may be wrong, a wire may be off."
)
NOTHING_FAILED = "Nothing need have failed"
TOGETHER = {1: "One failure", 2: "Two failures", 3: "Three failures"}
COUNTED = {1: "single failure", 2: "pair", 3: "triple"}
MOST_LISTED = 12
MOST_NAMES = 6
NAMED_LEFT = 3
MOST_ITSELF = 3
MOST_ORDERED = 60


def diagnosis_text(network: Network, diagnosis: Diagnosis) -> Iterator[str]:
    """The failures that explain what is seen, line by line."""
    yield heading(network, diagnosis.condition)
    yield "Seen: " + "; ".join(_seen(network, o) for o in diagnosis.observations)
    if diagnosis.not_powered:
        off = join_words([network.names[i] for i in diagnosis.not_powered])
        yield f"Dead in this condition with nothing failed: {off}."
    yield ""
    candidates = diagnosis.candidates
    if diagnosis.nothing_failed_fits:
        at = _at_volts(network, diagnosis.healthy_volts)
        where = f", {at}" if at else ""
        yield f"{NOTHING_FAILED}: a healthy aircraft may show all of this{where}."
        if candidates:
            yield "\nIf something has failed all the same"
    elif not candidates:
        yield f"Nothing that was tried explains all of it: {_tried(diagnosis.order)}."
        yield from _near(network, diagnosis)
    for one in diagnosis.left_out:
        rest = f"{_these(one)} the rest" if one.size else "nothing need have failed"
        yield f"Without '{_seen(network, one.observation)}' {rest}."
    itself, is_last = _itself(network, diagnosis)
    if itself and not is_last:
        yield itself
    for size, numbers in diagnosis.groups:
        of_size = _by_losses(network, diagnosis, numbers)
        together = TOGETHER.get(size, "A named failure")
        at_volts = {_at_volts(network, diagnosis.volts[i]) for i in of_size}
        once = f", {at_volts.pop()}" if len(at_volts) == 1 and "" not in at_volts else ""
        rows = _by_failure(diagnosis, of_size)
        if len(rows) == 1:
            yield f"{together}, this explains it{once}:"
        else:
            yield f"{together}: {len(rows)} explain it{once}"
        for row in rows[:MOST_LISTED]:
            yield f"  {_candidate(network, diagnosis, row[0], not once)}"
            for i in (i for i in row if i < len(diagnosis.losses)):
                also = f"also {REMARKS[diagnosis.answers[i]]}: " if i != row[0] else ""
                loss = diagnosis.losses[i]
                yield f"    {also}{_meaning(network, loss, diagnosis.observations)}"
                yield from _hazards(network, loss.comes_on)
        if len(rows) > MOST_LISTED:
            yield f"  and {len(rows) - MOST_LISTED} more"
    if itself and is_last:
        yield itself
    if diagnosis.next_checks:
        yield from _look_next(network, diagnosis)
    elif len(_by_failure(diagnosis, range(len(candidates)))) > 1:
        yield "\nNo reading and no item distinguishes these."
    yield f"\n{NOT_COUNTED}"
    if diagnosis.order < LARGEST_SET:
        yield sets_not_tried(diagnosis.order)
    yield f"\n{CAUTION}"


def _itself(network: Network, diagnosis: Diagnosis) -> tuple[str, bool]:
    """That what is dead may itself have failed, with its breakers; empty where nothing says so.

    Said last where all of these can be reached on the ground only.
    """
    dead = [
        o.subject
        for o in diagnosis.observations
        if o.seen == "dead"
        and o.subject in network.equipment
        and o.subject not in diagnosis.not_powered
    ]
    if not dead or diagnosis.nothing_failed_fits:
        return "", False
    own = dict.fromkeys(
        device
        for item in dead[:MOST_ITSELF]
        for supply in network.connections[item]
        for device in supply.through
        if network.components[device].kind in ("breaker", "fuse")
    )
    on_ground = is_on_ground(network, diagnosis.condition)
    away = [d for d in own if not on_ground and is_ground_only(network, network.components[d])]
    is_last = bool(own) and len(away) == len(own)
    where = "; ".join(
        _with_place(network, device) + (", on the ground" if device in away and not is_last else "")
        for device in own
    )
    what = network.names[dead[0]] if len(dead) == 1 else "Each dead item"
    found = f": {where}" if where else ""
    check = "check it and its own breaker"
    how = f"on the ground, {check}" if is_last else f"{check} first"
    return f"{what} may itself have failed: {how}{found}.", is_last


def _with_place(network: Network, device: str) -> str:
    """`INV 1 (Pedestal panel A10)`."""
    where = network.positions[device]
    return network.components[device].name + (f" ({where})" if where else "")


def _by_losses(network: Network, diagnosis: Diagnosis, numbers: Sequence[int]) -> Sequence[int]:
    """Single failures by what else they take: the item's own breaker before its bus. What explains
    any reading is last.

    Left as they are: sets, many, and those that only would not show either.
    """
    is_single = len(diagnosis.candidates[numbers[0]]) == 1
    if not is_single or diagnosis.nothing_failed_fits or len(numbers) > MOST_ORDERED:
        return numbers
    dead = {o.subject for o in diagnosis.observations if o.seen == "dead"}

    def order(number: int) -> tuple[bool, int]:
        says_little = bool(_unsure(network, diagnosis, number))
        return says_little, len({*diagnosis.losses[number].lost} - dead)

    return sorted(numbers, key=order)


def _by_failure(diagnosis: Diagnosis, numbers: Iterable[int]) -> list[list[int]]:
    """The numbers of each failure together, first the answer that needs no remark."""
    found: dict[frozenset[Fault], list[int]] = {}
    for i in numbers:
        failed = () if i == HEALTHY else diagnosis.candidates[i]
        found.setdefault(frozenset(failed), []).append(i)
    return [
        sorted(of, key=lambda i: bool(REMARKS[diagnosis.answers[i]])) if of[1:] else of
        for of in found.values()
    ]


def _tried(order: int) -> str:
    """What sets leave out is said where nothing explains what is seen: it may."""
    if order == 1:
        return "failures one at a time"
    most = ("two", "three")[order - 2]
    return (
        f"failures alone, and up to {most} at a time without shorted diodes, stuck breakers and"
        " stuck switches"
    )


def _look_next(network: Network, diagnosis: Diagnosis) -> Iterator[str]:
    # Each candidate that is compared is left by what it shows itself.
    numbers = {number for _, left in diagnosis.next_checks[0].answers for number in left}
    compared = _by_failure(diagnosis, sorted(numbers))
    first = len(_by_failure(diagnosis, range(diagnosis.likely)))
    if first < len(compared) and not diagnosis.nothing_failed_fits:
        yield (
            f"\nNo reading and no item distinguishes these first {first}: the checks below"
            " are for sets of more."
        )
    yield "\nLook next"
    sides = live_sides(network)
    if of := _compared(diagnosis, len(compared), HEALTHY in numbers):
        yield f"  Compared: {of}."
    for check in diagnosis.next_checks[:3]:
        yield f"  {check_text(network, check)}"
        yield from _hazards(network, (check.subject, check.source_off or ""))
        for where, hazard in by_hazard(network, sides.get(check.subject, ())):
            yield f"    Hazard: {where}: {hazard}."
        for answer, left in check.answers:
            stay = [numbers[0] for numbers in _by_failure(diagnosis, left)]
            names = [_in_short(network, diagnosis, i) for i in stay[:NAMED_LEFT]]
            more = f" and {len(stay) - NAMED_LEFT} more" if len(stay) > NAMED_LEFT else ""
            count = f", {len(stay)} of these {len(compared)} stay" if more else ""
            yield f"    {answer}{count}: {'; '.join(names)}{more}"


def _hazards(network: Network, ids: Iterable[str]) -> Iterator[str]:
    return (f"    Hazard: {line.strip()}" for line in hazard_lines(network, ids))


def _compared(diagnosis: Diagnosis, count: int, with_healthy: bool) -> str:
    """What checks distinguish, where that is not all that is listed."""
    groups = [len(_by_failure(diagnosis, numbers)) for _, numbers in diagnosis.groups]
    causes = count - with_healthy
    if causes == sum(groups) and not with_healthy:
        return ""
    parts = ["nothing failed"] * with_healthy
    for (size, _), several in zip(diagnosis.groups, groups, strict=True):
        if causes:
            some = min(causes, several)
            words = counted(some, COUNTED.get(size, "named failure"))
            parts.append(f"the first {words}" if some < several else words)
            causes -= some
    return join_words(parts)


def _these(left_out: LeftOut) -> str:
    """`9 pairs explain`."""
    count, word = left_out.count, COUNTED[left_out.size]
    return f"{counted(count, word)} explain{'' if count > 1 else 's'}"


def diagnosis_json(network: Network, diagnosis: Diagnosis) -> dict[str, Any]:
    """The object that `troubleshoot --json` prints."""
    return {
        "airframe": network.airframe,
        "condition": diagnosis.condition,
        "seen": [_observation_json(o) for o in diagnosis.observations],
        "not_powered": list(diagnosis.not_powered),
        "nothing_failed_fits": diagnosis.nothing_failed_fits,
        "healthy_at_volts": dict(diagnosis.healthy_volts),
        "first_answer": NOTHING_FAILED if diagnosis.nothing_failed_fits else None,
        "without_one": [
            {
                "without": _observation_json(one.observation),
                "failures_at_a_time": one.size,
                "count": one.count,
            }
            for one in diagnosis.left_out
        ],
        "candidates": [
            {
                "failed": faults_json(c),
                **answer_json(diagnosis.answers[i]),
                "at_volts": dict(diagnosis.volts[i]),
                "lost": list(diagnosis.losses[i].lost) if i < len(diagnosis.losses) else None,
                "comes_on": (
                    list(diagnosis.losses[i].comes_on) if i < len(diagnosis.losses) else None
                ),
            }
            for i, c in enumerate(diagnosis.candidates)
        ],
        "next_checks": [
            {
                "look_at": c.subject,
                "source_off": c.source_off,
                "effort": c.effort,
                "leaves": round(c.leaves, 3),
                "answers": {
                    str(answer): [None if i == HEALTHY else i for i in left]
                    for answer, left in c.answers
                },
            }
            for c in diagnosis.next_checks[:MOST_LISTED]
        ],
        "near_misses": [
            {
                "failed": faults_json(n.failed),
                **answer_json(n.answer),
                "against": [_observation_json(o) for o in n.against],
            }
            for n in diagnosis.near_misses
        ],
    }


def sets_text(network: Network, faults: CutSet) -> str:
    """`Left fuse link open, with Generator 1 lost`."""
    return ", with ".join(fault_text(network, *f) for f in faults)


def _candidate(
    network: Network, diagnosis: Diagnosis, number: int, with_volts: bool = False
) -> str:
    if number == HEALTHY:
        return "nothing has failed"
    failed = diagnosis.candidates[number]
    text, named = sets_text(network, failed), named_failure(network, failed)
    text = f"{named.name}: {text}" if named else text
    at = _at_volts(network, diagnosis.volts[number]) if with_volts else ""
    text = f"{text} {REMARKS[diagnosis.answers[number]]}".rstrip() + (f" ({at})" if at else "")
    unsure = _unsure(network, diagnosis, number) if number < len(diagnosis.losses) else []
    return f"{text} ({' and '.join(unsure)} then is not known)" if unsure else text


def _in_short(network: Network, diagnosis: Diagnosis, number: int) -> str:
    """A named failure by its name, which the list of causes has with all that fails in it."""
    named = named_failure(network, () if number == HEALTHY else diagnosis.candidates[number])
    if named and not REMARKS[diagnosis.answers[number]]:
        return named.name
    return _candidate(network, diagnosis, number)


def _unsure(network: Network, diagnosis: Diagnosis, number: int) -> list[str]:
    """What was seen of which nothing is known where AC sources conflict: any of it is explained."""
    loss = diagnosis.losses[number]
    seen = [o.subject for o in diagnosis.observations]
    items = [network.names[i] for i in seen if i in loss.not_known]
    meters = [
        network.names[i] for i in seen if loss.conflicts and loss.readings.get(i) == NOT_KNOWN
    ]
    return [
        f"{word} {join_words(names)} {verb}{'s' if len(names) == 1 else ''}"
        for word, names, verb in (("whether", items, "work"), ("what", meters, "read"))
        if names
    ]


def _at_volts(network: Network, volts: Mapping[str, float]) -> str:
    """`with Battery at 25.1 V`; empty where every source is at its own volts."""
    at = [f"{network.names[s]} at {PLAIN.volts(v)}" for s, v in volts.items()]
    return f"with {join_words(at)}" if at else ""


def check_text(network: Network, check: Check) -> str:
    """What to check, as an instruction."""
    name = network.names[check.subject]
    if check.source_off:
        return f"Take {network.names[check.source_off]} off line, then read {name}"
    if check.effort in ("in view", "try it"):
        return f"{'Read' if check.effort == 'in view' else 'Try'} {name}"
    if check.effort == "breaker panel":
        device, where = network.components[check.subject], network.positions[check.subject]
        return f"Breaker {device.name}, {where}: in or popped?"
    place = _with_place(network, check.subject)
    how = (
        "On the ground, power off, open the panel"
        if check.effort == LAST
        else "Power off, open the panel"
    )
    return f"{how}: is {place} open?"


def _meaning(network: Network, loss: Loss, observations: Sequence[Observation]) -> str:
    seen = {o.subject for o in observations}
    others = [network.names[e] for e in loss.lost if e not in seen]
    takes = f"also take: {_few(others)}" if others else "take nothing else"
    if on := [network.names[e] for e in loss.comes_on]:
        takes += f"; {len(on)} come{'s' if len(on) == 1 else ''} on: {_few(on)}"
    unsure = ", ".join(network.names[e] for e in loss.not_known)
    return f"would {takes}{f'; not known: {unsure} ({CONFLICT})' if unsure else ''}"


def _few(names: Sequence[str]) -> str:
    more = f" and {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else ""
    return ", ".join(names[:MOST_NAMES]) + more


def _near(network: Network, diagnosis: Diagnosis) -> Iterator[str]:
    """What would have to be wrong, and what then explains the rest."""
    together: dict[tuple[Observation, ...], list[str]] = {}
    for near in diagnosis.near_misses:
        failed = f"{sets_text(network, near.failed)} {REMARKS[near.answer]}".rstrip()
        together.setdefault(near.against, []).append(failed or "nothing else need have failed")
    for against, explain in together.items():
        wrong = "; ".join(f"'{_seen(network, o)}'" for o in against)
        yield f"  If {wrong} {'is' if len(against) == 1 else 'are'} wrong: {'; '.join(explain)}"


def _seen(network: Network, observation: Observation) -> str:
    name = network.names[observation.subject]
    seen = observation.seen
    reads = isinstance(seen, Reading) and seen not in (LIT, UNLIT, BLANK)
    return f"{name}{' reads' if reads else ':'} {seen_text(observation)}"


def seen_text(observation: Observation) -> str:
    """What was seen, as it is reported to the command: a figure without its unit."""
    seen = observation.seen
    return seen.without_unit if isinstance(seen, Reading) else seen


def _observation_json(observation: Observation) -> dict[str, str]:
    return {"of": observation.subject, "seen": seen_text(observation)}


def faults_json(faults: Sequence[Fault]) -> list[dict[str, str]]:
    """Failures as commands print them."""
    return [{"id": component, "mode": mode} for component, mode in faults]
