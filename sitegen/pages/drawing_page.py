"""The page of the whole drawing alone: every source, bus and feeder, in each condition."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sitegen.catalogue.model import Airframe
from sitegen.pages.links import OVERVIEW
from sitegen.pages.page_context import PageContext, PageKind

WIDEST_UPRIGHT = 192 / 108
"""Up to this width by its height a drawing is printed larger on an upright sheet: that is 192 mm
wide, and of one on its side 108 mm of height are left for the drawing."""


def _values(context: PageContext, airframe: Airframe) -> Mapping[str, Any]:
    answers, whole = context.answers, context.drawings.whole
    dead = [
        sum(not loss.nodes[b.id].live for b in answers.network.catalogue.buses)
        for loss in answers.normal
    ]
    answers_by_condition = [f"{count} dead" if count else "all live" for count in dead]
    return {
        "rows": context.by_condition(answers_by_condition),
        "drawing": context.drawings.live(),
        "tall": whole.width < WIDEST_UPRIGHT * whole.height,
        "pictures": context.condition_classes,
    }


PAGE: PageKind[Airframe] = PageKind(
    template="drawing",
    subjects=lambda context: [context.answers.airframe],
    path=lambda airframe: OVERVIEW,
    title=lambda airframe: airframe.name,
    kind=lambda context, airframe: "Drawing",
    values=_values,
)
