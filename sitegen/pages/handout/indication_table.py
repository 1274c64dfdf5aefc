"""What you see: every meter, lamp and flag, and the path from their readings to a cause."""

from __future__ import annotations

from typing import Any

from sitegen.answers.readings import reading_text
from sitegen.answers.signatures import Signatures
from sitegen.catalogue.kinds import KINDS
from sitegen.catalogue.model import Indication
from sitegen.pages.fault_isolation_page import branches, has_ranges, unseen
from sitegen.pages.fragments.component_facts import terms_words
from sitegen.pages.handout.handout_context import HandoutContext, by_conditions


def values(handout: HandoutContext) -> dict[str, Any]:
    """Values for the template."""
    answers = handout.context.answers
    return {
        "conditions": handout.condition_names,
        "indications": [_indication(handout, i) for i in answers.network.catalogue.indications],
        "signatures": [
            {"condition": name, **_signatures(handout, answers.signature_table[k])}
            for k, name in by_conditions(handout)
        ],
    }


def _indication(handout: HandoutContext, indication: Indication) -> dict[str, Any]:
    network = handout.context.answers.network
    power = dict.fromkeys(network.names[c.bus] for c in network.connections[indication.id])
    noun = KINDS[indication.kind].noun.lower()
    return {
        "record": indication,
        "kind": f"{indication.colour} {noun}" if indication.colour else noun,
        "lit_when": terms_words(handout.context, indication.lit_when or ()),
        "power": " or ".join(power) or "none needed",
        "normal": [
            reading_text(loss.readings[indication.id], indication.kind)
            for loss in handout.context.answers.normal
        ],
    }


def _signatures(handout: HandoutContext, table: Signatures) -> dict[str, Any]:
    return {
        "branches": branches(handout.context, table),
        "has_ranges": has_ranges(table),
        **unseen(handout.context, table),
    }
