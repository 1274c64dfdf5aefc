"""The five states as small marks, the legend, and the style rules that show one view."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache

from markupsafe import Markup

from sitegen.catalogue.model import Catalogue
from sitegen.diagram.drawing import SYMBOL_NAMES, Drawing, environment, symbol
from sitegen.diagram.parts import STATE_NAMES, STATES, VIEWS, State

SHOWN: Mapping[State, str] = {
    "live": "--c:var(--live);--w:2.7;--lw:2.4;--solid:var(--live);--on-solid:var(--sheet);"
    "--w-live:inline",
    "battery": "--c:var(--battery);--w:5;--lw:2.2;--core:inline;--halo:var(--sheet);"
    "--w-battery:inline",
    "dead": "--c:var(--dead);--w:1.9;--lw:1.4;--dots:.1 4.6;--cap:round;--bar-dots:2 2.6;"
    "--w-dead:inline",
    "open": "--c:var(--open);--lw:2.2;--shut:none;--gap:inline;--w-open:inline",
    "failed": "--c:var(--failed);--lw:2;--shut:none;--gap:inline;--halo:var(--sheet);"
    "--cross:inline;--w-failed:inline",
}
"""What each state sets; `diagram.css` draws with these properties."""

CLOSED = "--shut:inline;--gap:none;--w-failed:none;--w-stuck:inline"
"""For a failed contactor that is stuck closed: class `closed-3` besides `failed-3`."""


def state_rules(views: int = VIEWS) -> str:
    """The rules that let `#view-3:checked` (or an ancestor `.show-3`) show `dead-3` as dead."""
    rules = []
    for name, properties in (*SHOWN.items(), ("closed", CLOSED)):
        selectors = ",\n".join(
            f"#view-{k}:checked~* .{name}-{k},.show-{k} .{name}-{k}" for k in range(views)
        )
        rules.append(f"{selectors},\n.state-{name}{{{properties}}}\n")
    return "".join(rules)


@lru_cache(maxsize=8)
def state_mark(state: State) -> Markup:
    """The mark of a state, 18 px square, for tables, panels and legends; hidden from readers.

    The word for the state stands beside it in the text (`STATE_WORDS`, `STATE_NAMES`).
    """
    return _text("state-mark.svg.jinja", state=state)


def legend(
    drawings: Iterable[Drawing] | Drawing | Catalogue, states: Iterable[str] = STATES
) -> Markup:
    """A legend, as an HTML list, of the symbols and states that are used, and of no others.

    Parameters
    ----------
    drawings : what it explains: drawings, or a catalogue of one airframe.
    states : the states that occur in them.
    """
    if isinstance(drawings, Catalogue):
        kinds = {d.kind for d in drawings.devices} | {s.kind for s in drawings.sources} | {"bus"}
        used = {str(kind) for kind in kinds}
    else:
        several = [drawings] if isinstance(drawings, Drawing) else list(drawings)
        used = {name for d in several for name in d.symbols}
    wanted = set(states)
    return _text(
        "legend.html.jinja",
        states=[(state_mark(s), STATE_NAMES[s]) for s in STATES if s in wanted],
        symbols=[(n, _sample(n), words) for n, words in SYMBOL_NAMES.items() if n in used],
    )


def _sample(name: str) -> Markup:
    if name == "bus":
        return Markup('<rect class="bar" x="-19" y="-6" width="38" height="12"/>')
    return symbol(name, "dc", "ac" if name == "converter" else "dc")


def _text(template: str, **values: object) -> Markup:
    text = environment().get_template(template).render(values)
    return Markup(" ".join(text.split()))
