"""Diagrams to fill in, with their keys on separate sheets."""

from __future__ import annotations

from typing import Any

from sitegen.pages.fill_in_page import key_rows
from sitegen.pages.handout.handout_context import HandoutContext
from sitegen.pages.handout.page_setup import on_one_page


def diagram(handout: HandoutContext) -> dict[str, Any]:
    """The whole diagram, without what the author leaves out."""
    drawings = handout.context.drawings
    whole = drawings.whole
    return {
        **on_one_page(handout, "blank-diagram"),
        **_shared(handout),
        "svg": drawings.drawn(whole, _losses(handout), blank=True),
        "key": key_rows(handout.context, whole),
    }


def buses(handout: HandoutContext) -> dict[str, Any]:
    """What feeds each bus, without what the author leaves out; the keys follow together."""
    drawings = handout.context.drawings
    losses = _losses(handout)
    return {
        **_shared(handout),
        "buses": [
            {
                "name": bus.name,
                "number": handout.numbered("blank-buses", k),
                "svg": drawings.drawn(drawings.feeds[bus.id], losses, blank=True),
                "key": key_rows(handout.context, drawings.feeds[bus.id]),
            }
            for k, bus in enumerate(handout.context.answers.network.catalogue.buses, 1)
        ],
    }


def _losses(handout: HandoutContext) -> list[Any]:
    if "states" in handout.record.leave_out:
        return [None]
    return [handout.context.answers.normal[handout.conditions[0]]]


def _shared(handout: HandoutContext) -> dict[str, Any]:
    left_out = handout.record.leave_out
    return {
        "leaves_out": " ".join(f"without-{what}" for what in left_out),
        "condition": handout.condition_names[handout.conditions[0]],
        "ask": [w for w in ("names", "amps", "states") if w in left_out],
    }
