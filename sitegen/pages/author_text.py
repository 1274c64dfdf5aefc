"""The author's Markdown -> HTML that can do no harm."""

from __future__ import annotations

import json
from functools import lru_cache
from typing import Any

import markdown
import nh3
from markupsafe import Markup

TAGS = {
    *("p", "br", "hr", "em", "strong", "code", "pre", "blockquote", "ul", "ol", "li", "a"),
    *("h2", "h3", "h4", "h5", "h6", "table", "thead", "tbody", "tr", "th", "td", "sub", "sup"),
}
"""What a text may hold. No pictures: a page asks nothing of anywhere else."""


@lru_cache(maxsize=8192)
def prose(text: str) -> Markup:
    """An author's text as HTML: Markdown is read, anything dangerous is dropped.

    Links may be relative, or https; a top heading becomes one below the page's own.
    """
    if not text.strip():
        return Markup("")
    html = markdown.markdown(text, extensions=["tables"], output_format="html")
    html = html.replace("<h1>", "<h2>").replace("</h1>", "</h2>")
    return Markup(
        nh3.clean(
            html,
            tags=TAGS,
            clean_content_tags={"script", "style"},
            attributes={"a": {"href"}},
            attribute_filter=_only_safe_links,
            url_schemes={"https"},
        )
    )


def _only_safe_links(tag: str, attribute: str, value: str) -> str | None:
    # '//host' and '\\host' are relative to a parser and another machine to a browser.
    return None if value.lstrip().startswith(("/", "\\")) else value


def for_script(value: Any) -> str:
    """A value as a script may hold it, on one line.

    No text of the author's may end the script or open another, wherever this is put.

    Examples
    --------
    >>> for_script({"a": "</script>"})
    '{"a":"\\\\u003c/script\\\\u003e"}'
    """
    text = json.dumps(value, ensure_ascii=True, separators=(",", ":"))
    for letter in "<>&":
        text = text.replace(letter, f"\\u{ord(letter):04x}")
    return text
