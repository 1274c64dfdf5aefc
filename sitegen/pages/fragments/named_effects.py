"""The named failures that affect an item or a function, each with a link to its page."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from markupsafe import Markup

from sitegen.answers.named_failures import NamedEffect
from sitegen.answers.three_answers import REMARKS
from sitegen.pages.links import named_failure_page
from sitegen.pages.page_context import PageContext
from sitegen.terminal.shared_text import EFFECTS, conditions_text


def named_effects(
    context: PageContext, effects: Sequence[NamedEffect]
) -> list[tuple[Markup, list[tuple[str, str]]]]:
    """By failure: its link, and each effect with where it has it: ('lost', 'in Cruise').

    Parameters
    ----------
    context : the airframe whose names are used.
    effects : those of one failure one after another.
    """
    names = {f.id: f.name for f in context.answers.network.catalogue.failures}
    return [
        (
            context.fragments.link(named_failure_page(failure), names[failure]),
            [(EFFECTS[e.effect], _where(context, e)) for e in of_failure],
        )
        for failure, of_failure in groupby(effects, key=lambda e: e.failure)
    ]


def _where(context: PageContext, effect: NamedEffect) -> str:
    """`in Cruise (if contactors drop out)`."""
    here = f"in {conditions_text(context.answers.network, effect.conditions)}"
    return f"{here} {REMARKS[effect.answer]}".rstrip()
