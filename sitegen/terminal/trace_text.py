"""How equipment is fed and what takes it, as text."""

from __future__ import annotations

from collections.abc import Iterator

from sitegen.answers.single_failures import CONFLICT
from sitegen.answers.trace import Path, Trace
from sitegen.catalogue.model import AnyOf, Equipment
from sitegen.solver.network import Network
from sitegen.terminal.shared_text import (
    CAUTION,
    NAMED_TITLE,
    hazard_lines,
    heading,
    in_conditions,
    named_lines,
    place_text,
    section,
    set_lines,
    single_failure_text,
)


def trace_text(network: Network, trace: Trace) -> Iterator[str]:
    """How equipment is fed and what takes it, line by line."""
    names = network.names
    conditions = network.catalogue.conditions
    equipment = network.equipment[trace.equipment]
    yield heading(network)
    yield f"{equipment.name} ({trace.equipment}), ATA {equipment.ata}"
    if len(trace.feeds) > 1:
        needed = "all of them are needed" if equipment.needs == "all" else "any one is enough"
        yield f"{len(trace.feeds)} supplies; {needed}."
    if equipment.requires:
        yield f"Depends on {'; '.join(_required(network, equipment))}."
    yield from section("Hazards", list(hazard_lines(network, trace.touched)))
    for feed in trace.feeds:
        yield ""
        yield f"From {names[feed.connection.bus]}, {place_text(network, feed.connection)}"
        for path in feed.paths:
            live = [c.name for i, c in enumerate(conditions) if path.live >> i & 1]
            yield "  " + " > ".join(names[step] for step in _steps(path))
            yield f"    live in: {', '.join(live) or 'no condition'}"
        if feed.cut_short:
            yield "  ... and more paths than are listed here."
    yield ""
    for i, condition in enumerate(conditions):
        state = "not powered"
        if trace.works >> i & 1:
            state = "works, on battery only" if trace.on_battery >> i & 1 else "works"
        yield f"{condition.name}: {state}"
    yield from section("Single failures that take it", list(_cause_lines(network, trace)))
    for title, failures in (
        ("Single failures that switch it on", trace.comes_on_by),
        (f"Single failures after which it is not known: {CONFLICT}", trace.not_known_by),
    ):
        lines = [
            f"  {single_failure_text(network, by.fault, by.answer)}"
            f"{in_conditions(network, by.conditions)}"
            for by in failures
        ]
        yield from section(title, lines)
    if not trace.works:
        yield "\nNot powered in any of the catalogue's conditions: nothing can take it."
    elif not trace.causes:
        yield "\nNo single failure takes it, in any condition."
    yield from section(NAMED_TITLE, list(named_lines(network, trace.named)))
    yield from set_lines(network, trace.condition, trace.sets)
    yield f"\n{CAUTION}"


def _cause_lines(network: Network, trace: Trace) -> Iterator[str]:
    """Single failures; those that take the same in the same conditions are on one line."""
    same_losses: dict[tuple[tuple[str, ...], tuple[str, ...]], list[str]] = {}
    for cause in trace.causes:
        text = single_failure_text(network, cause.by.fault, cause.by.answer)
        key = cause.by.conditions, cause.also_lost
        same_losses.setdefault(key, []).append(text)
    for (conditions, also_lost), failures in same_losses.items():
        yield f"  {'; '.join(failures)}{in_conditions(network, conditions)}"
        others = [network.names[e] for e in also_lost]
        more = f" and {len(others) - 6} more" if len(others) > 6 else ""
        names_of_others = f"also lost then: {', '.join(others[:6])}{more}"
        yield f"    {names_of_others if others else 'alone'}"


def _required(network: Network, equipment: Equipment) -> Iterator[str]:
    for requirement in equipment.requires:
        if isinstance(requirement, AnyOf):
            yield f"one of {', '.join(network.names[i] for i in requirement.any)}"
        else:
            yield network.names[requirement]


def _steps(path: Path) -> Iterator[str]:
    for node, branch in zip(path.nodes, path.branches, strict=False):
        yield node
        yield from branch.through if branch.origin == node else branch.through[::-1]
    yield path.nodes[-1]
