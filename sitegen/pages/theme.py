"""The theme: templates compiled once, and the files that all pages share."""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import lru_cache, partial
from hashlib import sha256
from html import unescape
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, Template
from markupsafe import Markup

from sitegen.diagram.parts import VIEWS
from sitegen.diagram.state_marks import state_rules
from sitegen.pages import links
from sitegen.pages.minifier import short_scripts
from sitegen.quantities import NO_BREAK, from_minute, minutes_gained
from sitegen.resources import theme
from sitegen.terminal.endurance_text import or_more
from sitegen.words import counted, join_words

SHARED = (
    "palette.css",
    "style.css",
    "diagram.css",
    "handout.css",
    "panel.css",
    "helpers.js",
    "site.js",
    "serial.js",
    "find.js",
    "pictures.js",
    "engine.js",
    "because.js",
    "paths.js",
    "figures.js",
    "endurance.js",
    "qr.js",
    "drawing.js",
    "zoom.js",
    "instruments.js",
    "headline.js",
    "sentences.js",
    "which-fits.js",
    "page-parts.js",
    "board.js",
    "possible-amps.js",
    "diagnosis.js",
    "cause-list.js",
    "diagnose.js",
    "page-parts.css",
    "board.css",
    "diagnose.css",
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
        or_more=partial(or_more, NO_BREAK),
        short_amps=NO_BREAK.short_amps,
        rated=NO_BREAK.rated,
        volts=NO_BREAK.volts,
        percent=NO_BREAK.percent,
        minutes_gained=minutes_gained,
        from_minute=from_minute,
        in_class=in_class,
    )
    return environment


def in_class(names: str) -> Markup:
    """The attribute for these classes; nothing without any.

    >>> in_class(" v v0"), in_class("")
    (Markup(' class="v v0"'), Markup(''))
    """
    return Markup(f' class="{names.strip()}"') if names else Markup("")


@lru_cache(maxsize=64)
def _template(name: str) -> Template:
    return _environment().get_template(f"{name}.html.jinja")


def fill(template: str, values: Mapping[str, Any]) -> str:
    """A page's text, from a template's name and the values prepared for it."""
    return _template(template).render(values)


def with_policy(page: str, packed: Iterable[str] = ()) -> str:
    """A page with its content security policy (W3C, level 3), to be written as it is.

    Only the site's own files and what is in the page itself, by hash, may run or style it.

    Parameters
    ----------
    page : the whole text of a page; what is no whole page stays as it is.
    packed : scripts that one of its scripts may add, and pages that it may show, with any style.
    """
    beginning = _CHARSET.search(page)
    if not beginning:
        return page
    head, rest = page[: beginning.end()], page[beginning.end() :]
    inner = list(packed)
    run = {_hash(text) for whole in (rest, *inner) for text in _SCRIPT.findall(whole)}
    run |= {_hash(text) for text in inner if not text.startswith("<!doctype")}
    styles = sorted({_hash(text) for text in _STYLE.findall(rest)})
    # Few pages have one, and every tag is searched for it.
    attributes = _STYLE_ATTRIBUTE.findall(rest) if "style=" in rest else ()
    written = sorted({_hash(unescape(a or b)) for a, b in attributes})
    if written:
        styles += ["'unsafe-hashes'", *written]
    if inner:
        styles = ["'unsafe-inline'"]
    policy = (
        f"script-src {' '.join((SELF, *sorted(run)))};"
        f"style-src {' '.join((SELF, *styles))};object-src 'none';base-uri 'none'"
    )
    return f'{head}<meta http-equiv="Content-Security-Policy" content="{policy}">\n{rest}'


SELF = "'self'"
_SCRIPT = re.compile(r"<script>(.*?)</script>", re.DOTALL)
_STYLE = re.compile(r"<style[^>]*>(.*?)</style>", re.DOTALL)
_STYLE_ATTRIBUTE = re.compile(r"""<[a-z]+ [^<>]*?\bstyle=(?:"([^"]*)"|([^\s"'>]+))""")
_CHARSET = re.compile(r'<meta charset="?utf-8"?>\n?')


@lru_cache(maxsize=1024)
def _hash(text: str) -> str:
    return f"'sha256-{b64encode(sha256(text.encode()).digest()).decode()}'"


@lru_cache(maxsize=64)
def macro(name: str) -> Callable[..., Markup]:
    """A macro of `macros.html.jinja`: values -> HTML."""
    rendered: Callable[..., Markup] = getattr(_template("macros").module, name)
    return rendered


def theme_text(name: str, views: int = VIEWS) -> str:
    """One of the theme's own files, as it is published.

    Styles without comments, most ends of lines and the blanks round signs; scripts with short names
    besides: a page of the board sends 14 kB less.
    """
    if name.endswith(".js"):
        return short_scripts()[name]
    text = (theme() / name).read_text(encoding="utf-8")
    if name.endswith(".css"):
        text = re.sub(r"/\*.*?\*/\n*", "", text, flags=re.DOTALL)
        text = _close(r"(?<=[\w-]): |, | > | (?=\{)|(?<=[{;]) | (?=\}|!important)", text)
        text = re.sub(r"\n\s+", "\n", text)
        text = re.sub(r"^(.*[;{,(\[])\n", r"\1", text, flags=re.MULTILINE)
        text = re.sub(r";?\}\n*", "}", text) + "\n"
    return text + state_rules(views) + view_rules(views) if name == "diagram.css" else text


def _close(pattern: str, text: str) -> str:
    """A style without the blanks round some signs; what is quoted keeps its blanks.

    Lines on which a quote may be something else are left as they are.
    """

    def closed(line: re.Match[str]) -> str:
        parts = re.split(r'("(?:[^"\\]|\\.)*")', line[0])
        parts[::2] = (re.sub(pattern, lambda sign: sign[0].strip(), part) for part in parts[::2])
        return "".join(parts)

    return re.sub(r"^[^'/\n]+$", closed, text, flags=re.MULTILINE)


def shared_files(
    names: tuple[str, ...] = SHARED, views: int = VIEWS
) -> Iterator[tuple[str, bytes]]:
    """The theme's own files, for pages with at most this many views: (name, content)."""
    for name in names:
        whole = (theme() / name).read_bytes() if name.endswith(".png") else b""
        yield name, whole or theme_text(name, views).encode()


def view_rules(views: int) -> str:
    """The rules that show the chosen one of a page's views, and mark its button and its state."""
    numbers = range(views)
    hidden = ",".join(f"#view-{k}:checked~* .v:not(.v{k})" for k in numbers)
    chosen = ",".join(f"#view-{k}:checked~* label[for=view-{k}]" for k in numbers)
    here = ",".join(f"#view-{k}:checked~* .states .in{k}" for k in numbers)
    focus = ",".join(f"#view-{k}:focus-visible~* label[for=view-{k}]" for k in numbers)
    return (
        f"{hidden}{{display:none!important}}"
        f"{chosen}{{--row:flex;color:var(--on-chosen);background:var(--chosen-ground)}}"
        f"{here}{{--row:flex;--bar:var(--accent);background:var(--accent-wash)}}"
        f"{focus}{{outline:3px solid var(--accent);outline-offset:2px}}\n"
    )
