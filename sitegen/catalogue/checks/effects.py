"""Rules about what has no effect where it is written."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sitegen.catalogue.checks.context import CheckContext, Entry
from sitegen.catalogue.checks.wiring import devices_in_feeders
from sitegen.catalogue.findings import Finding, advice, error
from sitegen.catalogue.kinds import BLOWS, COIL_OPERATED, SWITCHING
from sitegen.catalogue.model import Bus, Device, Failure, Source, Switch, Then
from sitegen.words import join_words, quoted, with_article

FEWEST_OTHERS = 2
"""At least this many other conditions must set a switch before one that does not is doubted."""

_BATTERY = ("battery",)

_ONLY_FOR: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("sources", "amp-hours", _BATTERY),
    ("sources", "usable", _BATTERY),
    ("sources", "battery-time", _BATTERY),
    ("sources", "charge-amps", _BATTERY),
    ("sources", "efficiency", ("converter",)),
    ("devices", "drop-volts", ("diode",)),
    ("devices", "rides-through", tuple(sorted(SWITCHING))),
)
"""By section and field: the kinds that it is for."""


def fields_have_effect(m: CheckContext) -> Iterator[Finding]:
    """No source and no device has a field that only another kind uses."""
    for section, field, kinds in _ONLY_FOR:
        for i, record in enumerate(getattr(m.catalogue, section)):
            if field.replace("-", "_") in record.model_fields_set and record.kind not in kinds:
                meant = join_words([with_article(kind) for kind in kinds], "or")
                yield advice(
                    m.key_at((section, i, field)),
                    f"{_words(record)}: `{field}` has no effect; it is for {meant}.",
                    "Delete it, or fix the `kind`.",
                )
    for i, source in enumerate(m.catalogue.sources):
        if source.synchronised and source.current == "dc":
            yield advice(
                m.key_at(("sources", i, "synchronised")),
                f"source {source.id}: `synchronised` has no effect; it is for an AC source.",
                "Delete it, or write `current: ac`.",
            )
        if source.internal_ohms and source.kind == "converter":
            yield advice(
                m.key_at(("sources", i, "internal-ohms")),
                f"source {source.id}: `internal-ohms` has no effect; a converter does not sag.",
                "Delete it.",
            )


def texts_say_something(m: CheckContext) -> Iterator[Finding]:
    """A text of what to do is not empty."""
    for i, equipment in enumerate(m.catalogue.equipment):
        for field in ("on-loss", "if-it-comes-on"):
            name = field.replace("-", "_")
            if name in equipment.model_fields_set and not getattr(equipment, name).strip():
                yield advice(
                    m.key_at(("equipment", i, field)),
                    f"equipment {equipment.id}: `{field}` is empty.",
                    "Write what to do, or delete it.",
                )


def thresholds_can_be_passed(m: CheckContext) -> Iterator[Finding]:
    """A term by voltage sometimes holds and sometimes not; some supply can have enough volts."""
    for mention in m.mentions:
        term, volts = mention.path[-2], mention.value
        if term not in ("volts-above", "volts-below") or mention.path in m.unknown:
            continue
        highest = _highest_volts(m, mention.id)
        never = volts >= highest if term == "volts-above" else volts == 0
        if never or (term == "volts-below" and volts > highest):
            yield advice(
                m.at(mention.path),
                f"{mention.owner}: {quoted(mention.id)} shows 0 to {highest:g} V, so this term "
                f"{'never' if never else 'always'} holds.",
                "Fix the figure, or delete the term.",
            )
    for i, equipment in enumerate(m.catalogue.equipment):
        if not equipment.min_volts:
            continue
        highest = max(_highest_volts(m, supply.bus) for supply in equipment.supplies)
        if 0 < highest < equipment.min_volts:
            yield advice(
                m.at(("equipment", i, "min-volts")),
                f"equipment {equipment.id}: no supply ever has more than {highest:g} V, so it "
                "never works.",
                "Fix the figure.",
            )


def _highest_volts(m: CheckContext, node: str) -> float:
    """The most that a source shows at its terminals; at a bus, any source of the bus's current."""
    records = [e.record for e in m.components(node) if isinstance(e.record, (Source, Bus))]
    own = [r.volts for r in records if isinstance(r, Source)]
    currents = {r.current for r in records}
    return max(own or [s.volts for s in m.catalogue.sources if s.current in currents], default=0)


def conditions_set_every_switch(m: CheckContext) -> Iterator[Finding]:
    """A condition does not leave one switch alone that all others set."""
    doubtful: dict[int, list[Switch]] = {}
    conditions = m.catalogue.conditions
    for switch in m.catalogue.switches:
        here = [i for i, c in enumerate(conditions) if m.fitted(c) & m.fitted(switch)]
        without = [i for i in here if switch.id not in conditions[i].switches]
        first = switch.positions[0]
        moved = sum(conditions[i].switches.get(switch.id, first) != first for i in here)
        if len(without) == 1 and moved == len(here) - 1 >= FEWEST_OTHERS:
            doubtful.setdefault(without[0], []).append(switch)
    for i, switches in doubtful.items():
        if len(switches) > 1:
            continue  # the author names only what is not in its first position
        name, first = switches[0].id, switches[0].positions[0]
        yield advice(
            m.at(("conditions", i)),
            f"condition {conditions[i].id}: it does not set the switch {quoted(name)}, which is"
            f" then {quoted(first)}; all other conditions set it.",
            f"Write its position under `switches`; if {quoted(first)} is meant, write that.",
        )


def resets_have_effect(m: CheckContext) -> Iterator[Finding]:
    """The crew resets what can trip or stall, and is neither pulled nor failed."""
    in_feeders = devices_in_feeders(m)
    for i, failure in enumerate(m.catalogue.failures):
        for path, then in failure.crew_fields:
            for j, name in enumerate(then.reset):
                entries = [e for e in m.components(name) if e.fitted & m.fitted(failure)]
                if not entries:
                    continue
                if problem := _no_reset(failure, then, name, entries, name in in_feeders):
                    make, message, hint = problem
                    place = m.at(("failures", i, *path, "reset", j))
                    yield make(place, f"failure {failure.id}: {quoted(name)} {message}", hint)


def _no_reset(
    failure: Failure, then: Then, name: str, entries: list[Entry], in_feeder: bool
) -> Any:
    """Why a reset does nothing, as an error or advice, with a hint; or None."""
    delete = "Delete it from the list."
    kinds = {entry.kind.removeprefix("own ") for entry in entries}
    if kinds <= BLOWS:
        noun = with_article(next(iter(kinds)).replace("-", " "))
        return error, f"is {noun}: what has blown is replaced, not reset.", delete
    if name in then.pulled:
        return error, "is both pulled and reset.", "Delete one of the two."
    if name in {failed.partition(":")[0] for failed in failure.failed}:
        return advice, "has failed, so a reset has no effect.", delete
    if "source" in kinds:
        return None
    if not in_feeder:
        return advice, "is in no feeder, so no fault trips it and a reset has no effect.", delete
    if not any(isinstance(e.record, Device) and _trips(e.record) for e in entries):
        hint = "Write `protective: true` if it has its own fault sensing; else delete it here."
        return advice, "never trips, so a reset has no effect.", hint
    return None


def _trips(device: Device) -> bool:
    return device.protective or device.kind not in COIL_OPERATED


def _words(record: Source | Device) -> str:
    return f"{record.kind if isinstance(record, Device) else 'source'} {record.id}"
