"""On paper a link leads to another place of the same handout, or nowhere."""

from __future__ import annotations

import re
from collections.abc import Sequence

from markupsafe import Markup

ANCHOR = re.compile(r'\bid="?([a-z0-9-]+)')
PAGE = re.compile(r' href="([a-z0-9-]+)\.html(?:#[a-z0-9-]+)?"')
"""A link to a page of the same airframe."""


def inward(bodies: Sequence[Markup]) -> list[Markup]:
    """Turn links to pages into links to the places of the same name, where there are such.

    Parameters
    ----------
    bodies : the parts of one document; a place goes by the name of the page it stands for.
    """
    places = {name for body in bodies for name in ANCHOR.findall(body)}

    def turned(found: re.Match[str]) -> str:
        return f' href="#{found[1]}"' if found[1] in places else ""

    return [Markup(PAGE.sub(turned, str(body))) for body in bodies]
