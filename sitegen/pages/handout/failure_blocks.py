"""Failure by failure: what drops, what is lost, what the crew sees and does, what is left."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from markupsafe import Markup

from sitegen.pages.fragments import consequences as follows
from sitegen.pages.fragments.component_facts import crew_acts
from sitegen.pages.fragments.consequences import View
from sitegen.pages.fragments.failure_sets import by_component
from sitegen.pages.handout.handout_context import (
    GROUPS,
    Course,
    Failing,
    by_conditions,
    consequences,
    device_faults,
)
from sitegen.pages.links import failure_page
from sitegen.solver.scenarios import Fault
from sitegen.words import counted


def values(course: Course) -> dict[str, Any]:
    """What the template is given."""
    conditions = by_conditions(course)
    return {
        "groups": [
            {
                "title": title,
                "failures": [
                    _failure(course, f, conditions) for f in course.failing if f.group == group
                ],
            }
            for group, title in enumerate(GROUPS)
            if any(f.group == group for f in course.failing)
        ],
        "devices": [{"condition": name, **_devices(course, k)} for k, name in conditions],
    }


def _failure(
    course: Course, failing: Failing, conditions: Sequence[tuple[int, str]]
) -> dict[str, Any]:
    then = failing.named.then if failing.named else None
    return {
        "anchor": failing.anchor,
        "number": failing.number,
        "name": failing.name,
        "same_as": failing.same_as,
        "note": course.context.fragments.prose(failing.named.note) if failing.named else "",
        "crew": crew_acts(course.context, then) if then else "",
        "conditions": [
            _in_condition(course, name, [stage[k] for stage in failing.stages])
            for k, name in conditions
        ],
    }


def _in_condition(course: Course, name: str, stages: Sequence[View]) -> dict[str, Any]:
    context, first = course.context, stages[0]
    newly = () if first.all_on_battery else first.newly_on_battery
    return {
        "name": name,
        "count": counted(len(first.loss.lost), "item") + " lost" if first.loss.lost else "",
        "headline": "" if first.loss.lost else first.already or "Nothing is lost",
        "dead": follows.dead_buses(context, first),
        "chatter": follows.chatter(context, first),
        "functions": follows.functions(context, [first]),
        "lost": list(_chapters(course, first.loss.lost)),
        "reduced": list(_chapters(course, first.loss.reduced)),
        "battery_says": follows.battery(context, first),
        "battery": context.fragments.list(newly),
        "readings": follows.readings(context, [first], changed=True),
        "left": follows.left(context, first),
        "after": list(_after(course, first, stages[1])) if len(stages) > 1 else [],
    }


def _chapters(course: Course, items: Sequence[str]) -> Iterator[tuple[str, Markup]]:
    """Names under the titles of their chapters."""
    wanted = set(items)
    for title, members in course.context.fragments.chapters.items():
        here = [i for i in members if i in wanted]
        if here:
            yield title, course.context.fragments.list(here)


def _after(course: Course, at_once: View, acted: View) -> Iterator[tuple[str, Markup]]:
    """What is otherwise once the crew has acted."""
    fragments = course.context.fragments
    was, now = set(at_once.loss.lost), set(acted.loss.lost)
    lists = (
        ("Back", [i for i in at_once.loss.lost if i not in now and i in set(acted.left)]),
        ("Lost as well", [i for i in acted.loss.lost if i not in was]),
        ("Turned off", list(acted.loss.shed)),
    )
    for title, items in lists:
        if items:
            yield f"{title} ({len(items)})", fragments.list(items)
    names = course.context.answers.network.catalogue.functions
    for title, state in (("Functions back", "kept one-left"), ("Functions lost as well", "lost")):
        gone = [
            f.name
            for f in names
            if (at_once.loss.functions[f.id] == "lost") != (acted.loss.functions[f.id] == "lost")
            and acted.loss.functions[f.id] in state.split()
        ]
        if gone:
            yield title, Markup("{}").format(", ".join(gone))


def _devices(course: Course, condition: int) -> dict[str, Any]:
    """Every device that stands by itself, those together that come to the same."""
    answers, context = course.context.answers, course.context
    numbered = {consequences(f.stages[0][condition].loss): f for f in reversed(course.failing)}
    groups: dict[tuple[object, ...], list[Fault]] = {}
    harmless: list[Fault] = []
    for fault in device_faults(course):
        loss = answers.single[fault][condition]
        if loss.lost or loss.reduced:
            groups.setdefault(consequences(loss), []).append(fault)
        else:
            harmless.append(fault)
    rows = []
    anchored: set[str] = set()
    for same, members in groups.items():
        loss = answers.single[members[0]][condition]
        as_failure = numbered.get(same)
        anchors = [d for d in dict.fromkeys(d for d, _ in members) if d not in anchored]
        anchored.update(anchors)
        rows.append(
            {
                "lost": len(loss.lost),
                "names": Markup("<br>").join(
                    Markup('<span id="{}">{}</span>').format(
                        failure_page(d).removesuffix(".html"), name
                    )
                    if d in anchors and condition == course.conditions[0]
                    else name
                    for d, name in zip(
                        dict.fromkeys(d for d, _ in members),
                        by_component(context, members),
                        strict=True,
                    )
                ),
                "same_as": as_failure,
                "items": context.fragments.list(loss.lost),
                "reduced": context.fragments.list(loss.reduced),
            }
        )
    rows.sort(key=lambda row: -int(str(row["lost"])))
    return {"rows": rows, "harmless": Markup("; ").join(by_component(context, harmless))}
