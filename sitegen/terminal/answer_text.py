"""Answers as plain text, for a terminal."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from sitegen.answers.cut_sets import GroupedSet, drawn_together, sets_in
from sitegen.answers.drop import Loss
from sitegen.answers.function_status import FunctionStatus
from sitegen.answers.readings import reads_the_same
from sitegen.answers.switching_changes import moves
from sitegen.answers.trace import Path, Trace
from sitegen.catalogue.model import AnyOf, Equipment, Failure
from sitegen.solver.network import Connection, Network
from sitegen.solver.scenarios import Fault

MOST_SETS = 12
"""Lines of failure sets; what is left over is counted."""

CAUTION = (
    "A study aid, computed from the catalogue. The aircraft's approved manuals and local rules"
    " come first; work on aircraft electrics is for licensed people."
)


def loss_text(
    network: Network, loss: Loss, normal: Loss, named: Failure | None, after: bool
) -> Iterator[str]:
    """Question 1's answer, line by line.

    Parameters
    ----------
    network, loss : the airframe and the answer.
    normal : the same condition with nothing failed, to say which readings changed.
    named : the named failure, where one was asked for.
    after : the crew has acted.
    """
    names = network.names
    yield heading(network, loss.condition)
    title = named.name if named else ", ".join(fault_text(network, *f) for f in loss.failed)
    yield f"{title}{', after the crew has acted' if after else ''}"
    if after and named and named.then and named.then.note:
        yield f"  Crew: {in_words(named.then.note)}"
    yield ""
    if loss.chatter:
        yield f"These contactors never settle: {', '.join(names[d] for d in loss.chatter)}."
        yield "They are counted as open here; in the aircraft they may do anything."
    working = len(normal.kept) + len(normal.reduced)
    if loss.lost:
        yield f"You lose {len(loss.lost)} of {working} working items."
    else:
        yield f"You lose nothing: all {working} working items still work."
    dead = [n for n in loss.nodes if normal.nodes[n].live and not loss.nodes[n].live]
    if dead:
        yield f"Without power: {', '.join(names[n] for n in dead)}."
    yield from _items(network, "Lost", loss.lost, with_effect=True)
    yield from _items(network, "Reduced: works, but a supply or alternative is gone", loss.reduced)
    yield from _items(network, "Turned off by the crew", loss.shed)
    battery = [e for e in loss.on_battery if e not in normal.on_battery]
    yield from _items(network, "Now on battery only", battery)
    if normal.on_battery and loss.on_battery:
        yield f"\nOn battery only in this condition: {len(loss.on_battery)} items."
    states = {"lost": "lost", "one-left": "nothing to spare"}
    touched = [
        f"  {names[f]}: {states[state]}"
        for f, state in loss.functions.items()
        if state != "kept" and state != normal.functions[f]
    ]
    yield from _section("Functions", touched)
    changed = [
        f"  {names[i]}: {shown} (was {normal.readings[i]})"
        for i, shown in loss.readings.items()
        if not reads_the_same(shown, normal.readings[i])
    ]
    yield from _section("What you see change (of loads, what changes by more than 5)", changed)
    moved = [f"  {names[device]} {word}" for device, word in moves(network, loss, normal)]
    yield from _section("What opens or closes", moved)
    live = [
        f"{names[n]} {s.volts:g} V{' (battery)' if s.battery else ''}"
        for n, s in loss.nodes.items()
        if s.live and n not in network.sources
    ]
    yield f"\nStill live: {', '.join(live) or 'nothing'}."
    yield f"Still working: {len(loss.kept) + len(loss.reduced)} items."
    if loss.not_powered:
        yield f"Not powered in this condition anyway: {len(loss.not_powered)} items."
    yield f"\n{CAUTION}"


def trace_text(network: Network, found: Trace) -> Iterator[str]:
    """Question 2's answer, line by line."""
    names = network.names
    conditions = network.catalogue.conditions
    equipment = network.equipment[found.equipment]
    yield heading(network)
    yield f"{equipment.name} ({found.equipment}), ATA {equipment.ata}"
    if len(found.feeds) > 1:
        needed = "all of them are needed" if equipment.needs == "all" else "any one is enough"
        yield f"{len(found.feeds)} supplies; {needed}."
    if equipment.requires:
        yield f"Depends on {'; '.join(_required(network, equipment))}."
    for feed in found.feeds:
        yield ""
        yield f"From {names[feed.connection.bus]}, {place_text(network, feed.connection)}"
        for path in feed.paths:
            live = [c.name for i, c in enumerate(conditions) if path.live >> i & 1]
            ways = " > ".join(names[step] for step in _steps(path))
            yield f"  {ways}"
            yield f"    live in: {', '.join(live) or 'no condition'}"
        if feed.cut_short:
            yield "  ... and more ways than are listed here."
    yield ""
    for i, condition in enumerate(conditions):
        state = "not powered"
        if found.works >> i & 1:
            state = "works, on battery only" if found.on_battery >> i & 1 else "works"
        yield f"{condition.name}: {state}"
    yield from _section("Single failures that take it", list(_cause_lines(network, found)))
    if not found.works:
        yield "\nNot powered in any of the catalogue's conditions: nothing can take it."
    elif not found.causes:
        yield "\nNo single failure takes it, in any condition."
    yield from _set_lines(network, found.condition, found.sets)
    yield f"\n{CAUTION}"


def function_text(network: Network, found: FunctionStatus) -> Iterator[str]:
    """How a function stands, line by line."""
    names = network.names
    function = next(f for f in network.catalogue.functions if f.id == found.function)
    yield heading(network)
    kind = "essential function" if function.essential else "function"
    yield f"{function.name} ({function.id}), {kind}"
    yield (
        f"{function.need} of {len(function.provided_by)} needed:"
        f" {', '.join(names[p] for p in function.provided_by)}"
    )
    yield ""
    spare = "nothing to spare" if function.need < len(function.provided_by) else "all needed"
    words = {"kept": "kept", "one-left": f"kept, {spare}", "lost": "not available"}
    for condition in network.catalogue.conditions:
        working = ", ".join(names[p] for p in found.working[condition.id])
        by = f": {working}" if working else ""
        yield f"{condition.name}: {words[found.states[condition.id]]}{by}"
    every = len(network.catalogue.conditions)
    reads_the_same: dict[tuple[str, ...], list[Fault]] = {}
    for fault, conditions in found.takes.items():
        reads_the_same.setdefault(conditions, []).append(fault)
    lines = [
        f"  {'; '.join(fault_text(network, *f) for f in faults)}"
        f"{_in_conditions(network, conditions) if len(conditions) < every else ''}"
        for conditions, faults in reads_the_same.items()
    ]
    yield from _section("Single failures that take it", lines)
    if not lines:
        yield "\nNo single failure takes it, in any condition."
    yield from _set_lines(network, found.condition, found.sets)
    yield f"\n{CAUTION}"


def in_words(text: str) -> str:
    """An author's text on one line, its links as their words alone."""
    return " ".join(re.sub(r"\[([^\]]*)\]\([^)]*\)", r"\1", text).split())


def heading(network: Network, condition: str | None = None) -> str:
    """Aircraft, revision, airframe and condition in one line."""
    aircraft = network.catalogue.aircraft
    airframe = next(a.name for a in network.catalogue.airframes if a.id == network.airframe)
    parts = [f"{aircraft.name}, revision {aircraft.revision}", airframe]
    if condition:
        parts.append(network.condition_names[condition])
    return " | ".join(parts)


def fault_text(network: Network, component: str, mode: str) -> str:
    """`Left main bus shorted`."""
    return f"{network.names[component]} {mode.replace('-', ' ')}"


def place_text(network: Network, connection: Connection) -> str:
    """`COM 1 10 A, Right side wall B7`: placard, rating, panel, place."""
    if connection.protector is None:
        through = ", ".join(network.names[d] for d in connection.through)
        return f"no breaker of its own{', through ' if through else ''}{through}"
    c = network.components[connection.protector]
    words = f"{c.name} {c.amps:g} A" if c.amps else c.name
    where = " ".join(w for w in (network.panel_names.get(c.panel or "", ""), c.at) if w)
    return f"{words}, {where}" if where else words


def _cause_lines(network: Network, found: Trace) -> Iterator[str]:
    """Single causes, those that take the same in the same conditions together."""
    every = len(network.catalogue.conditions)
    reads_the_same: dict[tuple[tuple[str, ...], tuple[str, ...]], list[Fault]] = {}
    for cause in found.causes:
        reads_the_same.setdefault((cause.conditions, cause.also_lost), []).append(cause.fault)
    for (conditions, also_lost), faults in reads_the_same.items():
        where = ""
        if len(conditions) < every:
            where = _in_conditions(network, conditions)
        yield f"  {'; '.join(fault_text(network, *f) for f in faults)}{where}"
        others = [network.names[e] for e in also_lost]
        more = f" and {len(others) - 6} more" if len(others) > 6 else ""
        yield f"    also dead then: {', '.join(others[:6])}{more}" if others else "    alone"


def _in_conditions(network: Network, conditions: Iterable[str]) -> str:
    return f" (in {', '.join(network.condition_names[c] for c in conditions)})"


def _set_lines(network: Network, condition: str, sets: Sequence[GroupedSet]) -> Iterator[str]:
    """The failures that take it only together, in few lines."""
    where = network.condition_names.get(condition, "")
    for size, word in ((2, "Two"), (3, "Three")):
        of_size = [s for s in sets if len(s) == size]
        if not of_size:
            if where:
                yield f"\n{word} failures that take it only together, in {where}: none"
            continue
        lines = drawn_together(of_size)
        number = sum(map(sets_in, of_size))
        yield f"\n{word} failures that take it only together, in {where}: {number}"
        for groups in lines[:MOST_SETS]:
            yield f"  {', with '.join(_group_text(network, group) for group in groups)}"
        left = sum(map(sets_in, lines[MOST_SETS:]))
        if left:
            yield f"  and {left} more"


def _group_text(network: Network, group: Sequence[Fault]) -> str:
    """`(Left main bus dead or shorted or Left fuse link open)`."""
    modes: dict[str, list[str]] = {}
    for component, mode in group:
        modes.setdefault(component, []).append(mode.replace("-", " "))
    texts = [f"{network.names[c]} {' or '.join(said)}" for c, said in modes.items()]
    return texts[0] if len(group) == 1 else f"({' or '.join(texts)})"


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


def _items(
    network: Network, title: str, items: Iterable[str], with_effect: bool = False
) -> Iterator[str]:
    lines = []
    for item in sorted(items, key=lambda e: (network.equipment[e].ata, e)):
        equipment = network.equipment[item]
        places = "; ".join(place_text(network, c) for c in network.connections[item])
        lines.append(f"  {equipment.ata:<8} {equipment.name}  [{places}]")
        if with_effect and equipment.on_loss:
            lines.append(f"           {in_words(equipment.on_loss)}")
    yield from _section(title, lines)


def _section(title: str, lines: list[str]) -> Iterator[str]:
    if lines:
        yield f"\n{title}"
        yield from lines
