"""The state of one thing in each condition: a row of the table at the head of its page."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from sitegen.answers.drop import Loss
from sitegen.answers.node_states import NodeState
from sitegen.pages.fragments.names_and_rows import Fragments
from sitegen.quantities import NO_BREAK
from sitegen.solver.network import Network


@dataclass(frozen=True)
class StateRow:
    """The state in one condition. The row is also the button that chooses the condition."""

    state: str
    """One of the five states, as a class."""
    word: str
    """The state in words, with volts."""
    fed_from: Markup
    """What it is fed from."""


def power_state(state: NodeState) -> str:
    """`dead`, `battery` or `live`: the state of a node as a class of the style sheet."""
    return "dead" if not state.live else "battery" if state.battery else "live"


def node_state(loss: Loss, node: str, fragments: Fragments) -> StateRow:
    """The state of a bus, or of a source's terminals, in one condition with nothing failed."""
    state, power = loss.nodes[node], power_state(loss.nodes[node])
    if power == "dead":
        return StateRow(power, "Dead", Markup(""))
    volts = NO_BREAK.volts(state.volts)
    word = f"{volts}, battery only" if power == "battery" else volts
    # As the catalogue has them: a battery that is charged is not the first that feeds a bus.
    sources = [s for s in fragments.network.sources if s in state.sources]
    reserve = [s for s in sources if power == "live" and _is_charged(fragments.network, s, state)]
    fed_from = fragments.list([s for s in sources if s not in reserve])
    if reserve:
        fed_from += Markup("; {} in reserve").format(fragments.list(reserve))
    return StateRow(power, word, fed_from)


def _is_charged(network: Network, source: str, state: NodeState) -> bool:
    """Whether a battery reaches a DC bus that shows more volts than it has: it gives nothing."""
    battery = network.sources[source]
    is_dc = battery.current == "dc" and all(
        network.sources[s].current == "dc" for s in state.sources
    )
    return battery.kind == "battery" and is_dc and (battery.volts or 0) < state.volts
