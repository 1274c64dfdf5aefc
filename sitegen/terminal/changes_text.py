"""What a revision changes, as plain text and JSON."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict
from typing import Any

from sitegen.answers.changes import Changes, SinglePointChange
from sitegen.answers.endurance.endurance_changes import EnduranceChange
from sitegen.answers.failure_changes import Consequence
from sitegen.answers.failure_groups import FailuresOf, Group
from sitegen.answers.rating_changes import RatingChange
from sitegen.answers.record_changes import RecordChange
from sitegen.answers.record_fields import CHANGE_KINDS
from sitegen.answers.three_answers import REMARKS, answer_json
from sitegen.quantities import PLAIN
from sitegen.solver.scenarios import Fault
from sitegen.terminal.endurance_text import minutes_text
from sitegen.terminal.shared_text import CAUTION
from sitegen.words import day, join_words

KIND_TITLES = {
    "added": "Added",
    "removed": "Removed",
    "rewired": "Rewired",
    "re-rated": "Re-rated",
    "moved": "Moved",
    "redefined": "Redefined",
    "renamed": "Renamed",
    "reworded": "Reworded",
    "checked": "Checked since",
}
MOST_FAILURES = 8
"""Failures that one effect names; the rest are counted."""


def changes_text(changes: Changes) -> Iterator[str]:
    """What a revision changes, line by line."""
    yield title(changes)
    yield summary(changes)
    if changes.same_revision:
        yield f"The revision is called {changes.new.aircraft.revision} in both: rename the new one."
    for kind in CHANGE_KINDS:
        if lines := list(_records(changes, kind)):
            yield f"\n{KIND_TITLES[kind]}"
            yield from lines
    if changes.conditions:
        yield "\nWith nothing failed"
        for of in changes.conditions:
            words = ("no longer works", of.what.only_one), ("now works", of.what.only_other)
            said = "; ".join(f"{w}: {_list(changes, ids)}" for w, ids in words if ids)
            yield f"  {changes.names[of.what.condition]}: {said}{on(changes, of.airframes)}"
    if changes.ratings:
        yield "\nOver its rating with nothing failed"
        for state, component, where in rating_lines(changes):
            yield f"  {state}: {changes.names[component]} {where}"
    if changes.failures:
        yield "\nFailures that take something else"
        for failures in changes.failure_groups:
            yield from _group(changes, effect_text(changes, failures.what), failures)
    if changes.endurances:
        yield "\nMinutes on battery"
        for lasting in changes.endurance_groups:
            yield from _group(changes, endurance_text(changes, lasting.what), lasting)
    if changes.single_points:
        yield "\nSingle points of failure"
        for points in changes.point_groups:
            yield from _group(changes, single_point_text(changes, points.what), points)
    if changes.pairs:
        yield "\nBetween airframes"
        for pair in changes.pairs:
            names = f"{changes.names[pair.one]} and {changes.names[pair.other]}"
            for verb, records in (("now differ", pair.apart), ("no longer differ", pair.same)):
                if records:
                    listed = "; ".join(record_name(changes, name) for _, name in records)
                    yield f"  {names} {verb} in: {listed}"
    yield f"\n{CAUTION}"


def title(changes: Changes) -> str:
    """The aircraft and the two revisions, in one line."""
    old, new = changes.old.aircraft, changes.new.aircraft
    was, now = (f"revision {a.revision} of {day(a.revised)}" for a in (old, new))
    return f"{new.name} | {was} -> {now}"


def summary(changes: Changes) -> str:
    """What has changed and what follows, in figures."""
    if changes.nothing:
        one = "" if len(changes.old.airframes) == len(changes.networks) else " on this airframe"
        return f"Nothing has changed{one}."
    kinds = Counter(kind for of in changes.records for kind in of.what.kinds)
    done = [f"{kinds[kind]} {KIND_TITLES[kind].lower()}" for kind in CHANGE_KINDS if kinds[kind]]
    effects = Counter(takes(of.what) for of in changes.failures)
    counts = [f"{effects[word]} take {words}" for word, words in TAKES.items() if effects[word]]
    follows = "no failure takes anything else"
    if counts:
        follows = f"failures, condition by condition: {join_words(counts)}"
    over = len({of.what.component for of in changes.ratings if of.what.now})
    rated = f"; now over a rating with nothing failed: {over}" if over else ""
    return f"{', '.join(done)}; {follows}{rated}."


TAKES = {"more": "more", "less": "less", "else": "something else"}


def takes(change: Consequence) -> str:
    """Whether a failure takes `more`, `less`, or something `else`."""
    more = bool(change.only_other or change.unsure_other)
    less = bool(change.only_one or change.unsure_one)
    return "more" if more and not less else "less" if less and not more else "else"


def rating_lines(changes: Changes) -> list[tuple[str, str, str]]:
    """(`now 289 %` or `no longer`, a component, in which conditions and on which airframes) of
    what is over its rating with nothing failed in one revision: its most in any condition.
    """
    by_airframe: dict[tuple[str, bool, str], list[RatingChange]] = {}
    for of in changes.ratings:
        for airframe in of.airframes:
            key = of.what.component, of.what.now is None, airframe
            by_airframe.setdefault(key, []).append(of.what)
    groups: dict[tuple[str, bool, tuple[str, ...]], dict[str, list[RatingChange]]] = {}
    order = [c.id for c in changes.new.conditions]
    for (component, is_gone, airframe), found in by_airframe.items():
        conditions = tuple(sorted((one.condition for one in found), key=order.index))
        groups.setdefault((component, is_gone, conditions), {})[airframe] = found
    lines = []
    for (component, _, conditions), on_each in groups.items():
        over = [one.now for found in on_each.values() for one in found if one.now]
        most = max(over, key=lambda one: one.percent, default=None)
        words = f"now {most.bound}{PLAIN.percent(most.percent)}" if most else "no longer"
        where = join_words([changes.names[c] for c in conditions])
        lines.append((words, component, f"(in {where}){on(changes, [*on_each])}"))
    return lines


def on(changes: Changes, airframes: Sequence[str]) -> str:
    """` (on Serials 1 to 24)`; empty where it is so on all that both revisions have."""
    if not airframes or list(airframes) == list(changes.networks):
        return ""
    return f" (on {join_words([changes.names[a] for a in airframes])})"


def record_text(change: RecordChange) -> str:
    """`VHF COM 1 (com-1)`: name, and the id where it has another."""
    noun = record_noun(change)
    name = f"{noun.capitalize()} {change.name}" if noun else change.name
    own = change.section == "feeders" or change.id in (change.name, change.section)
    return name if own else f"{name} ({change.id})"


def record_noun(change: RecordChange) -> str:
    """What a record is, where its name does not say it."""
    return NOUNS.get(change.section, "")


NOUNS = {
    "airframes": "airframe",
    "conditions": "condition",
    "failures": "failure",
    "functions": "function",
    "handout": "handout",
    "notes": "note",
    "feeders": "feeder",
    "load-columns": "load column",
    "abbreviations": "abbreviation",
    "accepted": "accepted advice",
}


def record_name(changes: Changes, name: str) -> str:
    """What a record is called, by its id; a feeder by its wording."""
    return " > ".join(changes.names.get(part, part) for part in name.split(" > "))


def effects(change: Consequence) -> list[tuple[str, tuple[str, ...]]]:
    """What a failure does otherwise: words, and the items of which they are true."""
    found = (
        ("newly lost", change.only_other),
        ("no longer lost", change.only_one),
        ("newly comes on", change.on_other),
        ("no longer comes on", change.on_one),
        ("newly not known", change.unsure_other),
        ("no longer not known", change.unsure_one),
    )
    return [(words, ids) for words, ids in found if ids]


def effect_text(changes: Changes, change: Consequence) -> str:
    """`Newly lost: VHF COM 1; no longer lost: Clock`."""
    text = "; ".join(f"{words}: {_list(changes, ids)}" for words, ids in effects(change))
    return text[0].upper() + text[1:]


def failure_text(changes: Changes, failures: FailuresOf) -> str:
    """`Left main bus dead or shorted (in Cruise)`, or a named failure."""
    return f"{changes.names[failures.component]} {failure_rest(changes, failures)}".strip()


def failure_rest(changes: Changes, failures: FailuresOf) -> str:
    """`dead or shorted (in Cruise)`: what comes after the name of what fails."""
    return rest_of_failure(failures, changes.names, [c.id for c in changes.new.conditions])


def rest_of_failure(
    failures: FailuresOf, names: Mapping[str, str], conditions: Sequence[str]
) -> str:
    """The same with other names, and among these conditions."""
    parts = (
        join_words([mode.replace("-", " ") for mode in failures.modes], "or"),
        REMARKS[failures.answer],
        "(new)" if failures.part_is_new else "",
        "at once and" if failures.both_stages else "",
        "once the crew has acted" if failures.after_crew or failures.both_stages else "",
        in_conditions(failures.conditions, names, conditions),
    )
    return " ".join(filter(None, parts))


def in_conditions(conditions: Sequence[str], names: Mapping[str, str], every: Sequence[str]) -> str:
    """`(in Cruise)`; empty where it is every condition."""
    if set(conditions) == set(every):
        return ""
    return f"(in {join_words([names[c] for c in conditions])})"


def endurance_text(changes: Changes, change: EnduranceChange) -> str:
    """`Main battery: 34 min -> 29 min (short of 30 min)`."""
    minutes = f"{minutes_text(change.was)} -> {minutes_text(change.now)}"
    return f"{changes.names[change.battery]}: {minutes}"


def single_point_text(changes: Changes, point: SinglePointChange) -> str:
    """`New: one failure takes VHF communication`."""
    what = changes.names[point.function]
    if point.items:
        what = f"{join_words([changes.names[i] for i in point.items])} together, for {what}"
    return f"{'New' if point.is_new else 'Gone'}: {one_failure_takes(point)} {what}"


def one_failure_takes(point: SinglePointChange) -> str:
    """How a sentence about a single point of failure begins."""
    return f"one failure {'may take' if point.not_known else 'takes'}"


def _group(changes: Changes, heading: str, group: Group[Any]) -> Iterator[str]:
    yield f"  {heading}{on(changes, group.airframes)}"
    for failures in group.failures[:MOST_FAILURES]:
        yield f"    {failure_text(changes, failures)}"
    more = len(group.failures) - MOST_FAILURES
    if more > 0:
        yield f"    and {more} more"


def _list(changes: Changes, ids: Sequence[str]) -> str:
    return ", ".join(changes.names[i] for i in ids)


def _records(changes: Changes, kind: str) -> Iterator[str]:
    for of in changes.records:
        fields = [field for field in of.what.fields if field.kind == kind]
        where = on(changes, of.airframes)
        name = record_text(of.what)
        if not fields:
            continue
        if not fields[0].field:
            text = fields[0].was or fields[0].now
            yield f"  {name}{f': {text}' if text else ''}{where}"
            continue
        yield f"  {name}{where}"
        for field in fields:
            yield f"    {field.label}: {field.was} -> {field.now}"


def changes_json(changes: Changes) -> dict[str, Any]:
    """The object that `changes --json` prints."""
    old, new = changes.old.aircraft, changes.new.aircraft
    return {
        **{
            key: {"revision": a.revision, "revised": a.revised.isoformat()}
            for key, a in (("old", old), ("new", new))
        },
        "records": [
            {
                "section": of.what.section,
                "id": of.what.id,
                "name": of.what.name,
                "change": of.what.change,
                "airframes": list(of.airframes),
                "fields": [asdict(field) for field in of.what.fields if field.field],
            }
            for of in changes.records
        ],
        "conditions": [
            {
                "condition": of.what.condition,
                "airframes": list(of.airframes),
                "no_longer_works": list(of.what.only_one),
                "now_works": list(of.what.only_other),
            }
            for of in changes.conditions
        ],
        "failures": [
            {
                "condition": of.what.condition,
                **_failed(of.what.fault),
                "airframes": list(of.airframes),
                "takes": takes(of.what),
                "newly_lost": list(of.what.only_other),
                "no_longer_lost": list(of.what.only_one),
                "newly_comes_on": list(of.what.on_other),
                "no_longer_comes_on": list(of.what.on_one),
                "newly_not_known": list(of.what.unsure_other),
                "no_longer_not_known": list(of.what.unsure_one),
                **answer_json(of.what.answer),
                "part_is_new": of.what.part_is_new,
                "after_crew": of.what.after_crew,
            }
            for of in changes.failures
        ],
        "over_rating": [
            {**of.what.as_json(), "airframes": list(of.airframes)} for of in changes.ratings
        ],
        "endurance": [
            {
                "condition": of.what.condition,
                **_failed(of.what.fault),
                "airframes": list(of.airframes),
                "battery": of.what.battery,
                "was": None if of.what.was is None else of.what.was.as_json(),
                "now": None if of.what.now is None else of.what.now.as_json(),
            }
            for of in changes.endurances
        ],
        "single_points": [
            {
                **{key: value for key, value in asdict(of.what).items() if key != "fault"},
                **_failed(of.what.fault),
                "airframes": list(of.airframes),
            }
            for of in changes.single_points
        ],
        "between_airframes": [
            {
                "airframes": [pair.one, pair.other],
                "now_differ": [{"section": s, "id": i} for s, i in pair.apart],
                "no_longer_differ": [{"section": s, "id": i} for s, i in pair.same],
            }
            for pair in changes.pairs
        ],
    }


def _failed(fault: Fault) -> dict[str, Any]:
    component, mode = fault
    return {"failed": {"id": component, "mode": mode}} if mode else {"failure": component}
