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
    HandoutContext,
    NumberedFailure,
    by_conditions,
    consequences,
    device_faults,
    is_listed,
)
from sitegen.pages.links import failure_page
from sitegen.solver.scenarios import Fault
from sitegen.words import counted


def values(handout: HandoutContext) -> dict[str, Any]:
    """Values for the template."""
    conditions = by_conditions(handout)
    return {
        "groups": [
            {
                "title": title,
                "failures": [
                    _failure(handout, f, conditions) for f in handout.failures if f.group == group
                ],
            }
            for group, title in enumerate(GROUPS)
            if any(f.group == group for f in handout.failures)
        ],
        "devices": [{"condition": name, **_devices(handout, k)} for k, name in conditions],
    }


def _failure(
    handout: HandoutContext, failing: NumberedFailure, conditions: Sequence[tuple[int, str]]
) -> dict[str, Any]:
    then = failing.named.then if failing.named else None
    return {
        "anchor": failing.anchor,
        "number": failing.number,
        "name": failing.name,
        "same_as": failing.same_as,
        "note": handout.context.fragments.prose(failing.named.note) if failing.named else "",
        "crew": crew_acts(handout.context, then) if then else "",
        "conditions": [
            _in_condition(handout, name, [stage[k] for stage in failing.stages])
            for k, name in conditions
        ],
    }


def _in_condition(handout: HandoutContext, name: str, stages: Sequence[View]) -> dict[str, Any]:
    context, first = handout.context, stages[0]
    newly = () if first.all_on_battery else first.newly_on_battery
    return {
        "name": name,
        "count": counted(len(first.loss.lost), "item") + " lost" if first.loss.lost else "",
        "headline": "" if first.loss.lost else first.already or "Nothing is lost",
        "dead": follows.dead_buses(context, first),
        "chatter": follows.chatter(context, first),
        "functions": follows.functions(context, [first]),
        "lost": list(_chapters(handout, first.loss.lost)),
        "reduced": list(_chapters(handout, first.loss.reduced)),
        "battery_says": follows.battery(context, first),
        "battery": context.fragments.list(newly),
        "readings": follows.readings(context, [first], changed=True),
        "left": follows.left(context, first),
        "after": list(_after(handout, first, stages[1])) if len(stages) > 1 else [],
    }


def _chapters(handout: HandoutContext, items: Sequence[str]) -> Iterator[tuple[str, Markup]]:
    """Names under the titles of their chapters."""
    wanted = set(items)
    for title, members in handout.context.fragments.chapters.items():
        here = [i for i in members if i in wanted]
        if here:
            yield title, handout.context.fragments.list(here)


def _after(handout: HandoutContext, at_once: View, acted: View) -> Iterator[tuple[str, str]]:
    """What differs once the crew has acted."""
    fragments = handout.context.fragments
    was, now = set(at_once.loss.lost), set(acted.loss.lost)
    lists = (
        ("Back", [i for i in at_once.loss.lost if i not in now and i in set(acted.left)]),
        ("Lost as well", [i for i in acted.loss.lost if i not in was]),
        ("Turned off", list(acted.loss.shed)),
    )
    for title, items in lists:
        if items:
            yield f"{title} ({len(items)})", fragments.list(items)
    names = handout.context.answers.network.catalogue.functions
    for title, state in (("Functions back", "kept one-left"), ("Functions lost as well", "lost")):
        gone = [
            f.name
            for f in names
            if (at_once.loss.functions[f.id] == "lost") != (acted.loss.functions[f.id] == "lost")
            and acted.loss.functions[f.id] in state.split()
        ]
        if gone:
            yield title, ", ".join(gone)


def _devices(handout: HandoutContext, condition: int) -> dict[str, Any]:
    """Every device with a page of its own, those with the same consequences together."""
    answers, context = handout.context.answers, handout.context
    numbered = {consequences(f.stages[0][condition].loss): f for f in reversed(handout.failures)}
    groups: dict[tuple[object, ...], list[Fault]] = {}
    harmless: list[Fault] = []
    for fault in device_faults(handout):
        loss = answers.single[fault][condition]
        if is_listed(loss):
            groups.setdefault(consequences(loss), []).append(fault)
        else:
            harmless.append(fault)
    rows: list[dict[str, Any]] = []
    # A device has its anchor once, in the first condition.
    anchored = set(answers.network.names) if condition != handout.conditions[0] else set[str]()
    for same, members in groups.items():
        loss = answers.single[members[0]][condition]
        as_failure = numbered.get(same)
        devices = list(dict.fromkeys(d for d, _ in members))
        anchors = {d: failure_page(d).removesuffix(".html") for d in devices if d not in anchored}
        anchored.update(anchors)
        rows.append(
            {
                "lost": len(loss.lost),
                "devices": [
                    {"name": name, "anchor": anchors.get(d, "")}
                    for d, name in zip(devices, by_component(context, members), strict=True)
                ],
                "same_as": as_failure,
                "items": context.fragments.list(loss.lost),
                "reduced": context.fragments.list(loss.reduced),
            }
        )
    rows.sort(key=lambda row: -row["lost"])
    return {"rows": rows, "harmless": by_component(context, harmless)}
