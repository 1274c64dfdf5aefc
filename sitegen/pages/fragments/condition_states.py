"""The state of one thing in each condition: a row of the table at the head of its page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

from sitegen.answers.airframe_answers import AirframeAnswers
from sitegen.answers.drop import NodeState
from sitegen.pages.fragments.names_and_rows import Fragments
from sitegen.quantities import NO_BREAK


@dataclass(frozen=True)
class StateRow:
    """One condition. The row is also the button that chooses it."""

    number: int
    condition: str
    state: str
    """One of the five states, as a class."""
    word: str
    """The state in words, with volts."""
    mark: Markup
    fed_from: Markup
    """What it is fed from."""


def node_states(
    answers: AirframeAnswers, fragments: Fragments, marks: Mapping[str, Markup]
) -> dict[str, list[StateRow]]:
    """By node its state in each condition with nothing failed."""
    return {
        node: [
            _row(i, condition.name, loss.nodes[node], fragments, marks)
            for i, (condition, loss) in enumerate(
                zip(answers.conditions, answers.normal, strict=True)
            )
        ]
        for node in answers.network.nodes
    }


def _row(
    number: int, condition: str, state: NodeState, fragments: Fragments, marks: Mapping[str, Markup]
) -> StateRow:
    if not state.live:
        return StateRow(number, condition, "dead", "Dead", marks["dead"], Markup(""))
    name = "battery" if state.battery else "live"
    volts = NO_BREAK.volts(state.volts)
    word = f"{volts}, battery only" if state.battery else volts
    return StateRow(number, condition, name, word, marks[name], fragments.list(state.sources))
