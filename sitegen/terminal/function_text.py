"""A function's status, as text."""

from __future__ import annotations

from collections.abc import Iterator

from sitegen.answers.function_status import FunctionStatus, with_none_to_spare
from sitegen.catalogue.model import Function, Provider
from sitegen.solver.network import Network
from sitegen.terminal.shared_text import (
    CAUTION,
    NAMED_TITLE,
    heading,
    in_conditions,
    named_lines,
    section,
    set_lines,
    single_failure_text,
)
from sitegen.words import join_words


def function_text(network: Network, status: FunctionStatus) -> Iterator[str]:
    """A function's status in each condition, and what takes it, line by line."""
    names = network.names
    function = next(f for f in network.catalogue.functions if f.id == status.function)
    yield heading(network)
    kind = "essential function" if function.essential else "function"
    yield f"{function.name} ({function.id}), {kind}"
    yield f"Needed: {needed_text(network, function)}"
    yield ""
    spare = with_none_to_spare(function)
    one_left = f"kept, {spare}" if spare else "kept"
    labels = {"kept": "kept", "one-left": one_left, "lost": "not available"}
    for condition in network.catalogue.conditions:
        working = ", ".join(names[p] for p in status.working[condition.id])
        by = f": {working}" if working else ""
        yield f"{condition.name}: {labels[status.states[condition.id]]}{by}"
    same_conditions: dict[tuple[str, ...], list[str]] = {}
    for failure in status.takes:
        text = single_failure_text(network, failure.fault, failure.answer, failure.not_known)
        same_conditions.setdefault(failure.conditions, []).append(text)
    lines = [
        f"  {'; '.join(failures)}{in_conditions(network, conditions)}"
        for conditions, failures in same_conditions.items()
    ]
    yield from section("Single failures that take it", lines)
    if not lines:
        yield "\nNo single failure takes it, in any condition."
    yield from section(NAMED_TITLE, list(named_lines(network, status.named)))
    yield from set_lines(network, status.condition, status.sets)
    yield f"\n{CAUTION}"


def needed_text(network: Network, function: Function) -> str:
    """What a function needs: `(1 of A, B) and (1 of C, D)`."""
    return _needed(network, function.as_group, outermost=True)


def _needed(network: Network, provider: Provider, outermost: bool = False) -> str:
    """A provider, or how many of which are needed: `2 of (A, B, C)`."""
    if isinstance(provider, str):
        return network.names[provider]
    members = provider.any or provider.all or []
    if len(members) == 1:
        return _needed(network, members[0], outermost)
    several = [_needed(network, one) for one in members]
    text = join_words(several) if provider.all else f"{provider.need} of {', '.join(several)}"
    return text if outermost else f"({text})"
