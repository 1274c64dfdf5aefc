"""The author's Markdown -> HTML that can do no harm."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
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


OWN = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*(\.html(#[a-z0-9-]+)?|\.(breaker|fuse)(-[0-9]+)?)?")
"""The target of a link to an id of the catalogue, or to a page of the airframe."""


def prose(text: str, page_of: Callable[[str], str | None] | None = None) -> Markup:
    """An author's text as HTML: Markdown is read, anything dangerous is dropped.

    Links may be relative, or https; a top heading becomes one below the page's own.

    Parameters
    ----------
    page_of : the link to write for an id or a page that the text links to, or None for no link;
        left out, such a link stays as it is.
    """

    def link(tag: str, attribute: str, target: str) -> str | None:
        if page_of and OWN.fullmatch(target):
            return page_of(target)
        # '//host' and '\\host' are relative to a parser and another machine to a browser.
        return None if target.lstrip().startswith(("/", "\\")) else target

    if not text.strip():
        return Markup("")
    return Markup(
        nh3.clean(
            _html(text),
            tags=TAGS,
            clean_content_tags={"script", "style"},
            attributes={"a": {"href"}},
            attribute_filter=link,
            url_schemes={"https"},
            link_rel=None,
        )
    )


@lru_cache(maxsize=8192)
def _html(text: str) -> str:
    html = markdown.markdown(text, extensions=["tables"], output_format="html")
    return html.replace("<h1>", "<h2>").replace("</h1>", "</h2>")


SCRIPT_LIMITS = re.compile(r"<(?=/?script|!--)", re.IGNORECASE)
"""Where text in a script may end it, or begin another: the only places, by the HTML standard. To
write every bracket of a drawing otherwise would be 400 bytes more to send."""


def for_script(value: Any) -> str:
    """A value as a script may hold it, on one line.

    No text of the author's may end the script or open another, wherever this is put.

    Examples
    --------
    >>> for_script({"a": "</script>"})
    '{"a":"\\\\u003c/script>"}'
    """
    text = json.dumps(value, ensure_ascii=True, separators=(",", ":"))
    return SCRIPT_LIMITS.sub(r"\\u003c", text)
