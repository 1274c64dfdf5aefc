"""The diagnosis: what the meters, lamps and items show, and what then may have failed.

All that it shows is worked out in the browser (`diagnose.js`).
"""

from __future__ import annotations

from sitegen.catalogue.model import Airframe
from sitegen.pages.links import DIAGNOSE
from sitegen.pages.page_context import PageKind

PAGE: PageKind[Airframe] = PageKind(
    template="diagnose",
    subjects=lambda context: [context.answers.airframe],
    path=lambda airframe: DIAGNOSE,
    title=lambda airframe: "What failed?",
    kind=lambda context, airframe: "Diagnosis",
    values=lambda context, airframe: {},
)
