"""A failure step by step in its drawing: before, at once, after the crew; what each changes."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

from sitegen.answers.drop import Loss
from sitegen.pages.fragments.condition_states import power_state
from sitegen.pages.fragments.consequences import View
from sitegen.pages.theme import macro
from sitegen.pages.views import by_text, classes
from sitegen.solver.network import Network
from sitegen.solver.scenarios import Fault

CREW_HAS_ACTED = "Crew has acted"
"""The name of the second stage."""


def steps(network: Network, views: Sequence[View], conditions: int) -> Markup:
    """The buttons of the steps, and what each step changes in words.

    A button is the label of the view that it shows, so that it needs no script. Of the conditions
    only the chosen one's buttons show. The views before the failure, a condition each, have the
    numbers after those of the failure.
    """
    total = len(views) + conditions
    texts = [
        change(network, was, view.loss, view.faults)
        for was, view in zip(losses_before(views), views, strict=True)
    ]
    texts += ["Nothing has failed yet."] * conditions
    rows = []
    for condition in range(conditions):
        buttons = [(k, v.row) for k, v in enumerate(views) if v.condition == condition]
        buttons.insert(0, (len(views) + condition, "Before"))
        rows.append((buttons, classes(sum(1 << k for k, _ in buttons), total)))
    return macro("steps")(rows, by_text("p", texts))


def losses_before(views: Sequence[View]) -> list[Loss]:
    """For each view the state before it: the crew acts on what has failed at once."""
    at_once = {v.condition: v.loss for v in views if v.row == "At once"}
    return [
        at_once.get(v.condition, v.normal) if v.row == CREW_HAS_ACTED else v.normal for v in views
    ]


def change(network: Network, was: Loss, now: Loss, faults: Sequence[Fault]) -> str:
    """What one step changes in the drawing, in words; what fails itself is not repeated.

    Parameters
    ----------
    was, now : before and after the step.
    faults : what has failed.
    """
    failed = {component for component, _ in faults}
    drawn = dict.fromkeys(
        d for branch in network.branches for d in branch.through if d not in failed
    )
    buses = [b.id for b in network.catalogue.buses]
    before, after = ({b: power_state(loss.nodes[b]) for b in buses} for loss in (was, now))
    turned = [b for b in buses if before[b] != after[b]]
    changed = {
        "opens": [d for d in drawn if was.conducts[d] and not now.conducts[d]],
        "closes": [d for d in drawn if now.conducts[d] and not was.conducts[d]],
        "dead": [b for b in turned if after[b] == "dead"],
        "on battery only": [b for b in turned if after[b] == "battery"],
        "live": [b for b in turned if after[b] == "live" and before[b] == "dead"],
        "no longer on battery only": [
            b for b in turned if after[b] == "live" and before[b] == "battery"
        ],
    }
    named = {word: ", ".join(network.names[i] for i in ids) for word, ids in changed.items() if ids}
    if not named:
        return "Nothing else changes in the drawing."
    if len(changed["on battery only"]) > 1 and set(after.values()) <= {"battery", "dead"}:
        named["on battery only"] = "every bus that is still live"
    text = "; ".join(f"{word}: {names}" for word, names in named.items())
    return f"{text[0].upper()}{text[1:]}."
