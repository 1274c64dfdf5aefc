"""Troubleshooting as plain text."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from sitegen.answers.cut_sets import LARGEST_SET, CutSet
from sitegen.answers.device_ends import by_hazard, live_sides
from sitegen.answers.drop import Loss, named_failure
from sitegen.answers.next_checks import HEALTHY, LAST, Check, is_ground_only, is_on_ground
from sitegen.answers.observations import Observation
from sitegen.answers.ranked_causes import CauseGroup
from sitegen.answers.readings import BLANK, LIT, NOT_KNOWN, UNLIT, Reading
from sitegen.answers.single_failures import CONFLICT
from sitegen.answers.three_answers import REMARKS
from sitegen.answers.troubleshoot import Diagnosis
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
    itself, is_last = _itself(network, diagnosis)
    if itself and not is_last:
        yield itself
    for group in diagnosis.groups:
        yield from _group(network, diagnosis, group)
    if itself and is_last:
        yield itself
    if diagnosis.next_checks:
        yield from _look_next(network, diagnosis)
    elif any(
        len(_by_failure(diagnosis, n)) > 1 for n in (diagnosis.likely, range(len(candidates)))
    ):
        yield "\nNo reading and no item distinguishes these."
    yield f"\n{NOT_COUNTED}"
    if diagnosis.order < LARGEST_SET:
        yield sets_not_tried(diagnosis.order)
    yield f"\n{CAUTION}"


def _group(network: Network, diagnosis: Diagnosis, group: CauseGroup) -> Iterator[str]:
    """Causes that are listed together, with what each would mean."""
    against = _wrong(network, group)
    if against and not group.size:
        yield f"But for {against}, nothing need have failed."
        return
    of_size = _by_losses(network, diagnosis, group.numbers)
    together = TOGETHER.get(group.size, "A named failure")
    at_volts = {_at_volts(network, diagnosis.volts_of(i)) for i in of_size}
    once = f", {at_volts.pop()}" if len(at_volts) == 1 and "" not in at_volts else ""
    what = f"all but {against}" if against else "it"
    rows = _by_failure(diagnosis, of_size)
    or_more = " or more" if against and diagnosis.more_near else ""
    if len(rows) == 1 and not or_more:
        yield f"{together}, this explains {what}{once}:"
    else:
        yield f"{together}: {len(rows)}{or_more} explain {what}{once}"
    for row in rows[:MOST_LISTED]:
        yield f"  {_candidate(network, diagnosis, row[0], not once)}"
        for i in row:
            _, answer, loss = diagnosis.cause(i)
            if loss is not None:
                also = f"also {REMARKS[answer]}: " if i != row[0] else ""
                yield f"    {also}{_meaning(network, loss, diagnosis.observations)}"
                yield from _hazards(network, loss.comes_on)
    if len(rows) > MOST_LISTED:
        yield f"  and {len(rows) - MOST_LISTED} more"


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
    is_single = len(diagnosis.cause(numbers[0])[0]) == 1
    if not is_single or diagnosis.nothing_failed_fits or len(numbers) > MOST_ORDERED:
        return numbers
    dead = {o.subject for o in diagnosis.observations if o.seen == "dead"}

    def order(number: int) -> tuple[bool, int]:
        *_, loss = diagnosis.cause(number)
        assert loss is not None
        return bool(_unsure(network, diagnosis, loss)), len({*loss.lost} - dead)

    return sorted(numbers, key=order)


def _by_failure(diagnosis: Diagnosis, numbers: Iterable[int]) -> list[list[int]]:
    """The numbers of each failure together, first the answer that needs no remark."""
    found: dict[frozenset[Fault], list[int]] = {}
    for i in numbers:
        failed = () if i == HEALTHY else diagnosis.cause(i)[0]
        found.setdefault(frozenset(failed), []).append(i)
    return [
        sorted(of, key=lambda i: bool(REMARKS[diagnosis.cause(i)[1]])) if of[1:] else of
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
    first = len(_by_failure(diagnosis, diagnosis.likely))
    if first < len(compared) and not diagnosis.nothing_failed_fits:
        yield (
            f"\nNo reading and no item distinguishes these first {first}: the checks below"
            " are for sets of more."
        )
    yield "\nLook next"
    sides = live_sides(network)
    if of := _compared(network, diagnosis, sorted(numbers)):
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


def _compared(network: Network, diagnosis: Diagnosis, compared: Sequence[int]) -> str:
    """What checks distinguish, where that is not all that is listed."""
    every = {number for group in diagnosis.groups for number in group.numbers}
    if every == {*compared}:
        return ""
    parts = ["nothing failed"] * (HEALTHY in compared)
    for group in diagnosis.groups:
        some = len(_by_failure(diagnosis, [n for n in group.numbers if n in compared]))
        if not some:
            continue
        words = counted(some, COUNTED.get(group.size, "named failure"))
        if group.against:
            wrong = _wrong(network, group)
            explain = f"{words} that explain{'s' if some == 1 else ''} all but {wrong}"
            words = explain if group.size else f"nothing failed but for {wrong}"
        is_cut = some < len(_by_failure(diagnosis, group.numbers))
        parts.append(f"the first {words}" if is_cut else words)
    return join_words(parts)


def _wrong(network: Network, group: CauseGroup) -> str:
    """What causes leave unexplained, in quotes."""
    return join_words([f"'{_seen(network, o)}'" for o in group.against])


def sets_text(network: Network, faults: CutSet) -> str:
    """`Left fuse link open, with Generator 1 lost`."""
    return ", with ".join(fault_text(network, *f) for f in faults)


def _candidate(
    network: Network, diagnosis: Diagnosis, number: int, with_volts: bool = False
) -> str:
    if number == HEALTHY:
        return "nothing has failed"
    failed, answer, loss = diagnosis.cause(number)
    if not failed:
        return "nothing else has failed"
    text, named = sets_text(network, failed), named_failure(network, failed)
    text = f"{named.name}: {text}" if named else text
    at = _at_volts(network, diagnosis.volts_of(number)) if with_volts else ""
    text = f"{text} {REMARKS[answer]}".rstrip() + (f" ({at})" if at else "")
    unsure = _unsure(network, diagnosis, loss) if loss else []
    return f"{text} ({' and '.join(unsure)} then is not known)" if unsure else text


def _in_short(network: Network, diagnosis: Diagnosis, number: int) -> str:
    """A named failure by its name, which the list of causes has with all that fails in it."""
    if number != HEALTHY:
        failed, answer, _ = diagnosis.cause(number)
        named = named_failure(network, failed)
        if named and not REMARKS[answer]:
            return named.name
    return _candidate(network, diagnosis, number)


def _unsure(network: Network, diagnosis: Diagnosis, loss: Loss) -> list[str]:
    """What was seen of which nothing is known where AC sources conflict: any of it is explained."""
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


def _seen(network: Network, observation: Observation) -> str:
    name = network.names[observation.subject]
    seen = observation.seen
    reads = isinstance(seen, Reading) and seen not in (LIT, UNLIT, BLANK)
    return f"{name}{' reads' if reads else ':'} {seen_text(observation)}"


def seen_text(observation: Observation) -> str:
    """What was seen, as it is reported to the command: a figure without its unit."""
    seen = observation.seen
    return seen.without_unit if isinstance(seen, Reading) else seen
