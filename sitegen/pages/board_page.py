"""The board: the live drawing at full size, for any combination of failures and of what is done.

All that it shows is worked out in the browser (`board.js`).
"""

from __future__ import annotations

from sitegen.catalogue.model import Airframe
from sitegen.pages.links import BOARD
from sitegen.pages.page_context import PageKind

PAGE: PageKind[Airframe] = PageKind(
    template="board",
    subjects=lambda context: [context.answers.airframe],
    path=lambda airframe: BOARD,
    title=lambda airframe: "Any combination",
    kind=lambda context, airframe: "Board",
    values=lambda context, airframe: {},
)
