"""Rules about equipment: its loads and what it requires."""

from __future__ import annotations

from collections.abc import Iterator

from sitegen.catalogue.checks.context import CheckContext
from sitegen.catalogue.findings import Finding, advice, error
from sitegen.catalogue.model import required_ids
from sitegen.words import MOST_LISTED, counted, join_words, quoted

MOST_LOOPS = 20
"""How many loops of requirements are reported."""
LONGEST_CHAIN = 8
"""How many pieces of equipment of a loop are named."""


def load_tables_are_complete(m: CheckContext) -> Iterator[Finding]:
    """A table of amps has a figure for every load column."""
    columns = [column.id for column in m.catalogue.load_columns]
    for i, equipment in enumerate(m.catalogue.equipment):
        for field, amps in (("amps", equipment.amps), ("peak-amps", equipment.peak_amps)):
            missing = [c for c in columns if isinstance(amps, dict) and c not in amps]
            if missing:
                named = join_words([quoted(c) for c in missing], most=MOST_LISTED)
                yield advice(
                    m.key_at(("equipment", i, field)),
                    f"equipment {equipment.id}: `{field}` has no figure for {named}.",
                    "Write one, 0 where it draws nothing.",
                )


def equipment_has_amps(m: CheckContext) -> Iterator[Finding]:
    """One finding for all equipment without a figure for its draw."""
    equipment = m.catalogue.equipment
    bare = [i for i, e in enumerate(equipment) if not e.has_amps]
    if bare:
        named = [equipment[i].id for i in bare]
        count = counted(len(bare), "piece of equipment", "pieces of equipment")
        yield advice(
            m.at(("equipment", bare[0])),
            f"{count} without `amps`: {join_words(named, most=4)}.",
            "Without them the loads are too low.",
        )


def what_draws_by_volts_has_load_volts(m: CheckContext) -> Iterator[Finding]:
    """Where amps follow the volts of a DC bus, `load-volts` says at which they were taken."""
    if m.catalogue.aircraft.load_volts is not None:
        return
    ac = {bus.id for bus in m.catalogue.buses if bus.current == "ac"}
    by_volts = [
        i
        for i, e in enumerate(m.catalogue.equipment)
        if e.load != "constant-current" and any(supply.bus not in ac for supply in e.supplies)
    ]
    if by_volts:
        named = join_words([m.catalogue.equipment[i].id for i in by_volts], most=4)
        yield advice(
            m.at(("equipment", by_volts[0], "load")),
            f"`load` has no effect without the aircraft's `load-volts`: {named}.",
            "Write `load-volts` under `aircraft`: the volts at which `amps` were taken.",
        )


def conditions_have_a_load_column(m: CheckContext) -> Iterator[Finding]:
    """A condition says which column of the load tables applies in it."""
    if not m.catalogue.load_columns:
        return
    for i, condition in enumerate(m.catalogue.conditions):
        if condition.loads is None:
            yield advice(
                m.at(("conditions", i)),
                f"condition {condition.id}: it names no load column.",
                "Write `loads:` and one of the load columns.",
            )


def requirements_do_not_loop(m: CheckContext) -> Iterator[Finding]:
    """No equipment requires itself, neither straight nor through others."""
    everything: dict[str, list[str]] = {}
    for equipment in m.catalogue.equipment:
        everything.setdefault(equipment.id, []).extend(required_ids(equipment))
    if next(_loops(everything), None) is None:
        return  # what does not loop with all airframes in one loops on none of them
    reported: set[frozenset[str]] = set()
    for airframe in m.airframes:
        index = {e.id: i for i, e in enumerate(m.catalogue.equipment) if airframe in m.fitted(e)}
        for loop in _loops({n: required_ids(m.catalogue.equipment[i]) for n, i in index.items()}):
            if frozenset(loop) in reported:
                continue
            if len(reported) == MOST_LOOPS:
                return
            reported.add(frozenset(loop))
            path = ("equipment", index[loop[0]], "requires")
            if len(loop) == 1:
                message, hint = "it requires itself.", "Delete it from the list."
            else:
                more = len(loop) - LONGEST_CHAIN
                named = [*loop[:LONGEST_CHAIN], *([f"{more} more"] if more > 0 else []), loop[0]]
                chain = " requires ".join(named)
                message, hint = (
                    f"what it requires comes round to itself: {chain}.",
                    ("Break the loop where nothing is truly required."),
                )
            yield error(m.at(path), f"equipment {loop[0]}: {message}", hint)


def _loops(required: dict[str, list[str]]) -> Iterator[list[str]]:
    """One loop for each that a walk along the requirements comes upon, in the author's order."""
    order = {name: i for i, name in enumerate(required)}
    done: set[str] = set()
    for start in required:
        if start in done:
            continue
        # By hand rather than by recursion: a chain may be longer than Python's stack.
        trail: dict[str, Iterator[str]] = {start: iter(required[start])}
        while trail:
            here, ahead = next(reversed(trail.items()))
            step = next(ahead, None)
            if step is None:
                done.add(here)
                del trail[here]
            elif step in trail:
                walked = list(trail)
                loop = walked[walked.index(step) :]
                turn = loop.index(min(loop, key=order.__getitem__))
                yield loop[turn:] + loop[:turn]
            elif step in required and step not in done:
                trail[step] = iter(required[step])
