"""The functions that a failure takes, leaves with one provider or brings back, on its page."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import or_

from markupsafe import Markup

from sitegen.pages.fragments.failure_view import View
from sitegen.pages.links import function_page
from sitegen.pages.page_context import PageContext
from sitegen.pages.theme import macro
from sitegen.pages.views import by_view, classes

FUNCTION_LISTS = {
    "lost": "Functions lost",
    "off": "Functions turned off",
    "one-left": "With one provider left",
    "back": "Not available before",
}


@dataclass(frozen=True)
class FunctionLine:
    """A function with fewer providers than the condition left it, or one that comes back."""

    name: Markup
    """Its name, as a link to its page."""
    kind: str
    """A key of `FUNCTION_LISTS`."""
    text: Markup
    essential: bool


def function_lines(context: PageContext, view: View) -> Iterator[FunctionLine]:
    """The functions with fewer providers than the condition left them, and those that come back."""
    works = {*view.left, *view.loss.comes_on, *view.loss.turned_on}
    for function in context.answers.network.catalogue.functions:
        state = view.loss.functions[function.id]
        was = view.normal.functions[function.id]
        if state == was or (state == "kept" and was != "lost"):
            continue
        left = context.fragments.list(p for p in function.equipment if p in works)
        kind, text = "one-left", Markup(f"only {left}")
        if was == "lost":
            kind, text = "back", Markup(f"now {left}")
        if state == "lost":
            kind = "off" if function.id in view.besides.functions_off else "lost"
            text = Markup(f"{left} alone is not enough" if left else "")
        name = context.fragments.link(function_page(function.id), function.name)
        yield FunctionLine(name, kind, text, function.essential)


def function_lists(by_each: Sequence[Iterable[FunctionLine]]) -> Markup:
    """The functions of each view in a list for each kind of line."""
    lines, count = by_view(by_each), len(by_each)
    groups = []
    for kind, title in FUNCTION_LISTS.items():
        rows = {line: mask for line, mask in lines.items() if line.kind == kind}
        if rows:
            shown = [(line, classes(mask, count)) for line, mask in rows.items()]
            groups.append((kind, title, classes(reduce(or_, rows.values()), count), shown))
    return macro("functions")(groups)
