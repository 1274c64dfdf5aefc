"""Failure by failure: what drops, what is lost, what the crew sees and does, what is left."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from markupsafe import Markup

from sitegen.answers.besides import besides
from sitegen.answers.drop import Loss
from sitegen.catalogue.model import Failure
from sitegen.pages.fragments import consequences
from sitegen.pages.fragments.chain_of_events import chain
from sitegen.pages.fragments.component_facts import crew_acts
from sitegen.pages.fragments.endurance_lines import EnduranceText, endurances
from sitegen.pages.fragments.failure_sets import by_component
from sitegen.pages.fragments.failure_view import View
from sitegen.pages.fragments.function_lines import function_lines, function_lists
from sitegen.pages.handout.handout_context import (
    GROUPS,
    HandoutContext,
    NumberedFailure,
    anchor_of,
    by_conditions,
    device_faults,
    is_listed,
    same_effects,
)
from sitegen.pages.links import failure_page
from sitegen.pages.page_context import PageContext
from sitegen.solver.scenarios import Fault
from sitegen.terminal.headline_text import ASSUMED, sentences


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
        "assumed": ASSUMED,
        "devices": [{"condition": name, **_devices(handout, k)} for k, name in conditions],
    }


def _failure(
    handout: HandoutContext, failing: NumberedFailure, conditions: Sequence[tuple[int, str]]
) -> dict[str, Any]:
    named = failing.named
    answers = handout.context.answers
    every = answers.conditions
    notes = [(name, named.crew_note(every[k].id) if named else "") for k, name in conditions]
    acts = [crew_acts(handout.context, named, k) if named else Markup() for k, _ in conditions]
    same_acts = len(set(acts)) == 1
    same = same_acts and len({note for _, note in notes}) == 1
    crew = [
        (name, note, Markup() if same_acts else of_it)
        for (name, note), of_it in zip(notes, acts, strict=True)
    ]
    return {
        "failure": failing,
        "note": failing.named.note if failing.named else "",
        "crew_notes": [c for c in ([("", *crew[0][1:])] if same else crew) if any(c[1:])],
        "crew": acts[0] if same_acts else "",
        "hazards": handout.context.fragments.hazards(
            i
            for k, _ in conditions
            for stage in failing.stages
            for i in _touched(stage[k].loss, answers.normal[k])
        ),
        "conditions": [
            {
                **_in_condition(handout, name, [stage[k] for stage in failing.stages], named),
                "minutes": _minutes(handout.context, failing, k),
            }
            for k, name in conditions
        ],
    }


def _minutes(context: PageContext, failing: NumberedFailure, condition: int) -> list[EnduranceText]:
    """How long the batteries last: first if nobody sheds anything, then once the crew has."""
    view, named = failing.stages[0][condition], failing.named
    if named is None:
        lasting = context.endurances.of_single(view.faults[0], condition)
    else:
        lasting = context.endurances.of_named_at_once(named, condition)
    shown = endurances(context, [view.loss], [lasting], named)
    return [r for r in shown.content if not (r.ample or r.as_before)] if shown else []


def _touched(loss: Loss, normal: Loss) -> Iterator[str]:
    """Whatever a block names: items that fare otherwise, nodes that come live or go dead."""
    yield from (*loss.lost, *loss.comes_on, *loss.turned_on, *loss.shed, *loss.reduced)
    yield from loss.not_known
    yield from (n for n, state in normal.nodes.items() if state.live != loss.nodes[n].live)


def _in_condition(
    handout: HandoutContext, name: str, stages: Sequence[View], named: Failure | None
) -> dict[str, Any]:
    context, first = handout.context, stages[0]
    acted = stages[1] if len(stages) > 1 else None
    newly = () if first.all_on_battery else first.newly_on_battery
    return {
        "name": name,
        "lost_count": len(first.loss.lost),
        "headline": "" if first.loss.lost else first.no_loss,
        "other_effects": consequences.other_effects(context, first),
        "dead": consequences.dead_buses(context, first),
        "chatter": consequences.chatter(context, first),
        "functions": function_lists([list(function_lines(context, first))]),
        "lost": list(_chapters(handout, first.loss.lost)),
        "bar": context.lookups["taken_bar"](first.faults, first.loss.condition),
        "comes_on": list(_chapters(handout, first.loss.comes_on)),
        "on_texts": [
            (context.answers.network.names[item], label, text)
            for item, label, text in consequences.reasons_on(context, first)
        ],
        "not_known": list(_chapters(handout, first.loss.not_known)),
        "reduced": list(_chapters(handout, first.loss.reduced)),
        "battery_line": consequences.battery(context, first),
        "battery": context.fragments.list(newly),
        "readings": consequences.readings(context, [first], changed=True),
        "unseen": consequences.unseen(context, first),
        "left": consequences.left(context, first),
        "after": list(_after(handout, first, acted)) if acted else [],
        "chain": chain(context, first, first.normal) if named else (),
        "chain_after": chain(context, acted, first.loss) if acted and named else (),
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
    on, still_on = set(at_once.loss.comes_on), {*acted.loss.comes_on, *acted.loss.turned_on}
    lists = (
        ("Back", [i for i in at_once.loss.lost if i not in now and i in set(acted.left)]),
        ("Lost as well", [i for i in acted.loss.lost if i not in was]),
        ("Turned off", list(acted.loss.shed)),
        ("Turned on", list(acted.loss.turned_on)),
        ("Comes on as well", [i for i in acted.loss.comes_on if i not in on]),
        ("Off again", [i for i in at_once.loss.comes_on if i not in still_on]),
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
    network = answers.network
    numbered = {
        same_effects(network, f.stages[0][condition]): f for f in reversed(handout.failures)
    }
    groups: dict[tuple[object, ...], list[Fault]] = {}
    harmless: list[Fault] = []
    for fault in device_faults(handout):
        loss = answers.single[fault][condition]
        if is_listed(handout, fault, condition):
            view = View(
                answers.network, "", condition, (fault,), loss, answers.normal[condition], ""
            )
            groups.setdefault(same_effects(network, view), []).append(fault)
        else:
            harmless.append(fault)
    rows: list[dict[str, Any]] = []
    # A device has its anchor once, in the first condition.
    anchored = set(answers.network.names) if condition != handout.conditions[0] else set[str]()
    for same, members in groups.items():
        loss = answers.single[members[0]][condition]
        normal = answers.normal[condition]
        more = besides(answers.network, loss, normal)
        devices = list(dict.fromkeys(d for d, _ in members))
        anchors = {d: anchor_of(failure_page(d)) for d in devices if d not in anchored}
        anchored.update(anchors)
        rows.append(
            {
                "devices": [
                    (name, anchors.get(d, ""))
                    for d, name in zip(devices, by_component(context, members), strict=True)
                ],
                "same_as": numbered.get(same),
                "bar": any(context.lookups["page_bar"](failure_page(d)) for d in devices),
                "loss": loss,
                "besides": " ".join(
                    sentences(network, loss, replace(more, comes_on=(), reduced=()), normal)
                ),
            }
        )
    rows.sort(key=lambda row: -len(row["loss"].lost))
    return {
        "rows": rows,
        "harmless": by_component(context, harmless),
        "hazards": context.fragments.hazards(
            i for row in rows for i in _touched(row["loss"], answers.normal[condition])
        ),
    }
