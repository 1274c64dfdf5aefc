"""The audit of protection: what the breakers, fuses and links of an airframe do not protect."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import Any

from sitegen.answers.protection.protection_audit import protection
from sitegen.catalogue.wire_chart import wire_rows
from sitegen.pages.links import PROTECTION
from sitegen.pages.page_context import PageContext, PageKind, one_page
from sitegen.quantities import NO_BREAK
from sitegen.terminal.load_text import FIGURES
from sitegen.terminal.protection_text import is_lacking, judged_text
from sitegen.terminal.shared_text import allowed_text
from sitegen.terminal.voltage_text import drop_words, volts_words


def _values(context: PageContext, subject: None) -> Mapping[str, Any]:
    audit = protection(context.answers.network, wire_rows())
    return {
        "allowed_text": allowed_text,
        "caution_of_figures": FIGURES,
        "audit": audit,
        "judged": judged_text(audit.judged),
        "lacking": is_lacking(audit.judged),
        "drop_words": partial(drop_words, NO_BREAK),
        "volts_words": partial(volts_words, NO_BREAK),
    }


PAGE: PageKind[None] = PageKind(
    template="protection",
    subjects=one_page,
    path=lambda _: PROTECTION,
    title=lambda _: "Protection audit",
    kind=lambda context, _: "Breakers, fuses and links",
    values=_values,
)
