"""The theme: templates compiled once, and the files that all pages share."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from functools import lru_cache
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, Template
from markupsafe import Markup

from sitegen.diagram.state_marks import state_rules
from sitegen.pages import links
from sitegen.quantities import NO_BREAK, from_minute, minutes_gained
from sitegen.resources import theme
from sitegen.words import counted, join_words

SHARED = (
    "palette.css",
    "style.css",
    "diagram.css",
    "handout.css",
    "helpers.js",
    "site.js",
    "find.js",
    "pictures.js",
    "engine.js",
    "because.js",
    "drawing.js",
)
"""The files beside the front page that every page may use."""

OF_EVERY_PAGE = ("helpers.js", "site.js", "find.js")
"""The scripts among them that every page has."""

SERVICE_WORKER = "sw.js"
FROM_THE_WEB = ("offline.js", SERVICE_WORKER, "icon.svg", "icon-192.png", "icon-512.png")
"""The files that do something only where the site comes from a web host."""


@lru_cache(maxsize=1)
def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(theme()),
        autoescape=True,
        auto_reload=False,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals.update(files=links, counted=counted, join_words=join_words)
    environment.filters.update(
        amps=NO_BREAK.amps,
        short_amps=NO_BREAK.short_amps,
        rated=NO_BREAK.rated,
        volts=NO_BREAK.volts,
        minutes_gained=minutes_gained,
        from_minute=from_minute,
    )
    return environment


@lru_cache(maxsize=64)
def _template(name: str) -> Template:
    return _environment().get_template(f"{name}.html.jinja")


def fill(template: str, values: Mapping[str, Any]) -> str:
    """A page's text, from a template's name and the values prepared for it."""
    return _template(template).render(values)


@lru_cache(maxsize=64)
def macro(name: str) -> Callable[..., Markup]:
    """A macro of `macros.html.jinja`: values -> HTML."""
    rendered: Callable[..., Markup] = getattr(_template("macros").module, name)
    return rendered


def theme_text(name: str) -> str:
    """One of the theme's own files, as it is published: styles without their comments."""
    text = (theme() / name).read_text(encoding="utf-8")
    if name.endswith(".css"):
        text = re.sub(r"/\*.*?\*/\n*", "", text, flags=re.DOTALL)
    return text + state_rules() if name == "diagram.css" else text


def shared_files(names: tuple[str, ...] = SHARED) -> Iterator[tuple[str, bytes]]:
    """The theme's own files: (name, content)."""
    for name in names:
        whole = (theme() / name).read_bytes() if name.endswith(".png") else b""
        yield name, whole or theme_text(name).encode()
