"""Numbers in place of names: a drawing to fill in, and the order of its key."""

from __future__ import annotations

import re

from markupsafe import Markup

from sitegen.diagram.drawing import Drawing

TELLS = re.compile(r"<title>[^<]*</title>| data-part=\"[^\"]*\"")
"""What would give a name away to a pointer."""

RADIUS = 9
"""Of the disc behind a number, in drawing units."""


def numbers(drawing: Drawing) -> dict[str, int]:
    """By id of a source, bus or device its number, from the top down and from left to right.

    Parameters
    ----------
    drawing : a laid-out drawing.

    Returns
    -------
    In the order of the numbers, from 1. A device of several poles has one number at all of them.
    """
    parts = dict.fromkeys(key.id for key, _, _ in drawing.labels)
    return {part: k for k, part in enumerate(parts, 1)}


def discs(drawing: Drawing) -> Markup:
    """The numbers of a drawing as SVG, each on a disc where the name begins."""
    number = numbers(drawing)
    out = []
    for key, (x, y), anchor in drawing.labels:
        middle = x + {"start": RADIUS, "middle": 0, "end": -RADIUS}[anchor]
        out.append(
            f'<circle cx="{middle:g}" cy="{y - 4:g}" r="{RADIUS}"/>'
            f'<text x="{middle:g}" y="{y:g}" text-anchor="middle">{number[key.id]}</text>'
        )
    return Markup(f'<g class="numbers">{"".join(out)}</g>')
