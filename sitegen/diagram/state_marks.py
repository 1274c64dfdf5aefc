"""The five states as small marks, the legend, and the style rules that show one view."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

from markupsafe import Markup

from sitegen.diagram.drawing import Drawing
from sitegen.diagram.parts import STATE_NAMES, STATES, VIEWS, State
from sitegen.diagram.symbols import SYMBOL_NAMES, environment, symbol


def state_rules(views: int = VIEWS) -> str:
    """The rules that let `#view-3:checked` (or an ancestor `.show-3`) show `dead-3` as dead."""
    return environment().get_template("state-rules.css.jinja").render(views=views)


@lru_cache(maxsize=8)
def state_mark(state: State) -> Markup:
    """The mark of a state, 18 px square, for tables, panels and legends; hidden from readers.

    The word for the state is beside it in the text (`STATE_WORDS`, `STATE_NAMES`).
    """
    return _text("state-mark.svg.jinja", state=state)


def legend(drawing: Drawing, states: Iterable[str] = STATES) -> Markup:
    """A legend, as an HTML list, of the symbols and states that are used, and of no others.

    Parameters
    ----------
    drawing : what it explains.
    states : the states that occur in it.
    """
    wanted = set(states)
    return _text(
        "legend.html.jinja",
        states=[(state_mark(s), STATE_NAMES[s]) for s in STATES if s in wanted],
        symbols=[
            (n, symbol(n, "dc", "ac" if n == "converter" else "dc"), words)
            for n, words in SYMBOL_NAMES.items()
            if n in drawing.symbols
        ],
    )


def _text(template: str, **values: object) -> Markup:
    text = environment().get_template(template).render(values)
    return Markup(" ".join(text.split()).replace("> <", "><"))
