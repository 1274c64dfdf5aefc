"""A published page as its template has it, for tests that read the source."""

from __future__ import annotations

from html.parser import HTMLParser

VOID = {"br", "col", "hr", "img", "input", "link", "meta", "wbr"}
BLOCKS = (
    *("address", "article", "aside", "details", "div", "dl", "figcaption", "figure", "footer"),
    *("form", "h1", "h2", "h3", "h4", "header", "hr", "main", "nav", "ol", "pre", "section"),
    *("table", "ul"),
)
ENDED_BY = {
    "li": {"li"},
    "dt": {"dt", "dd"},
    "dd": {"dt", "dd"},
    "td": {"td", "th", "tr", "tbody"},
    "th": {"td", "th", "tr", "tbody"},
    "tr": {"tr", "tbody"},
    "thead": {"tbody"},
    "option": {"option"},
    "p": {*BLOCKS, "p"},
}
"""By element whose end tag may be left out, what ends it (HTML standard, 13.1.2.4, from memory)."""


class _Written(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=False)
        self.text: list[str] = []
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        while self.open and tag in ENDED_BY.get(self.open[-1], ()):
            self._left_out(self.open.pop())
        self._start(tag, attrs)
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._start(tag, attrs)

    def _start(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        written = (n if v is None else f'{n}="{v.replace(chr(34), "&#34;")}"' for n, v in attrs)
        self.text.append(f"<{' '.join((tag, *written))}>")

    def handle_endtag(self, tag: str) -> None:
        while self.open:
            last = self.open.pop()
            if last == tag:
                self.text.append(f"</{tag}>")
                break
            self._left_out(last)

    def _left_out(self, tag: str) -> None:
        """The end tag goes before the blank that was after it."""
        last = self.text.pop()
        words = last.rstrip()
        self.text += [words, f"</{tag}>", last[len(words) :]]

    def handle_data(self, data: str) -> None:
        self.text.append(data)

    def handle_entityref(self, name: str) -> None:
        self.text.append(f"&{name};")

    def handle_charref(self, name: str) -> None:
        self.text.append(f"&#{name};")


def as_written(page: str) -> str:
    """With every attribute in quotes, and every end tag.

    >>> as_written("<ul class=a><li>One <li>Two &amp; <b>more</b></ul>")
    '<ul class="a"><li>One</li> <li>Two &amp; <b>more</b></li></ul>'
    """
    written = _Written()
    written.feed(page)
    written.close()
    return "".join(written.text)
