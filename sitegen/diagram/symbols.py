"""The symbol of each kind of source and device, drawn in `themes/workshop/diagram/symbols/`.

A diode, for one, is drawn in `diode.svg` there: around the origin, current from top to bottom.
"""

from __future__ import annotations

from functools import lru_cache

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from sitegen.catalogue.kinds import KINDS
from sitegen.resources import theme

SYMBOL_NAMES = {k.id: k.symbol_noun or k.noun for k in KINDS.values() if k.role != "indication"}
"""Every symbol that there is, in the order of a legend."""


@lru_cache(maxsize=1)
def environment() -> Environment:
    """The theme's templates of symbols and drawings."""
    return Environment(
        loader=FileSystemLoader(theme() / "diagram"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=lambda value: f"{value:g}" if isinstance(value, float) else value,
    )


@lru_cache(maxsize=64)
def symbol(name: str, before: str = "", after: str = "") -> Markup:
    """The markup of one symbol, its middle at the origin.

    Parameters
    ----------
    name : a device's or source's kind.
    before, after : of a converter, `dc` or `ac` at its input and output.
    """
    text = environment().get_template(f"symbols/{name}.svg").render(before=before, after=after)
    return Markup(" ".join(text.split()))
