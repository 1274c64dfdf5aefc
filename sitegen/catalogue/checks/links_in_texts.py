"""Rules about the Markdown of texts: links lead to something, no pictures, no endless nesting."""

from __future__ import annotations

import html
import re
from bisect import bisect_right
from collections.abc import Callable, Iterator
from functools import lru_cache
from typing import Any

from sitegen.catalogue.checks.context import COMPONENTS, NODES, CheckContext, Path, records_of
from sitegen.catalogue.did_you_mean import did_you_mean
from sitegen.catalogue.findings import Finding, Place, advice, error
from sitegen.catalogue.kinds import DEVICES
from sitegen.catalogue.markdown_depth import DEEPEST, too_deep
from sitegen.words import quoted

PAGES = (
    *("index", "a-to-z", "notes", "audit", "which-failed", "protection", "loads", "overview"),
    *("practise", "handout", "blank"),
)
"""The pages of every airframe, without `.html`."""
PAGES_OF = {
    "failure": (COMPONENTS, NODES | DEVICES),
    "equipment": (COMPONENTS, {"equipment"}),
    "bus": (COMPONENTS, {"bus"}),
    "blank": (COMPONENTS, {"bus"}),
    "named-failure": ("failures", {"failure"}),
    "function": ("functions", {"function"}),
    "panel": ("panels", {"panel"}),
    "handout": ("handout", {"handout"}),
}
"""By the beginning of a page's name: the space and kinds of the ids that follow."""

MOST_SUGGESTED = 50
"""For how many targets a similar name is looked for."""

_LINK = re.compile(
    r"(?P<picture>!\[[^\]\n]{0,300}\](?:\([^)\n]{0,300}\))?|<img\b)"
    r"|(?:\]\([ \t]*<?|^ {0,3}\[[^\]\n]{1,300}\]:[ \t]*<?|\bhref[ \t]*=[ \t]*[\"']?)"
    r"(?P<target>[^\s()<>\"']+)",
    re.MULTILINE | re.IGNORECASE,
)
_SCHEME = re.compile(r"[a-z][a-z0-9+.-]*:|[/\\]", re.IGNORECASE)
_OTHER_FILE = re.compile(r".*/|[^:#]*\.")


def links_lead_somewhere(m: CheckContext) -> Iterator[Finding]:
    """A link leads to an id or a page; no page shows a picture."""
    notes = m.notes or ()
    ids = set(notes).union(*(m.spaces.get(s, ()) for s in (COMPONENTS, "failures", "functions")))
    pages = {f"{page}.html" for page in (*PAGES, *(f"note-{note}" for note in notes))}
    for prefix, (space, kinds) in PAGES_OF.items():
        for name, entries in m.spaces.get(space, {}).items():
            if any(entry.kind in kinds for entry in entries):
                pages.add(f"{prefix}-{name}.html")
    hints: dict[str, str] = {}
    for owner, place, text in _texts(m, lambda text: _LINK.search(text) is not None):
        if too_deep(text) is not None:
            continue
        raw = m.texts.get(place.file, "")
        start = 0
        for match in _LINK.finditer(text):
            target = match["target"] or ""
            message, hint = ("a picture is not shown.", "Delete it; pages hold no pictures.")
            if target:
                message, hint = _wrong_link(target, ids, pages)
            if not message or not _is_link(text, target):
                continue
            start = start or _offset(raw, place)
            begins = rf"(?:[(<\"'=]|\]:[ \t]*){re.escape(target)}" if target else r"!\[|<img"
            found = re.compile(begins).search(raw, start)
            at = place
            if found:
                start = found.end()
                at = _place(raw, start - len(target) if target else found.start(), place.file)
            if target and not hint:
                if target not in hints and len(hints) < MOST_SUGGESTED:
                    wanted = target.partition("#")[0]
                    hints[target] = did_you_mean(wanted, ids) or did_you_mean(wanted, pages)
                hint = hints.get(target) or "Write an id of the catalogue, or the name of a note."
            yield (error if target else advice)(at, f"{owner}: {message}", hint)


def texts_are_not_nested_too_deeply(m: CheckContext) -> Iterator[Finding]:
    """Markdown is nested less deeply than its parser can go."""
    for owner, place, text in _texts(m, lambda text: too_deep(text) is not None):
        index = too_deep(text)
        assert index is not None
        raw = m.texts.get(place.file, "")
        lines = text.count("\n", 0, index)
        start = _offset(raw, Place(place.file, place.line + lines, 1 if lines else place.column))
        found = raw.find(text[index:].partition("\n")[0].strip(), start)
        yield error(
            place if found < 0 else _place(raw, found, place.file),
            f"{owner}: lists, quotes, links or tags are nested too deeply here.",
            f"Write it with fewer levels; {DEEPEST} at most are read. Look for brackets and tags "
            "that are not closed.",
        )


def _wrong_link(target: str, ids: set[str], pages: set[str]) -> tuple[str, str]:
    """What is wrong with a link's target, or nothing; and the fix, where it needs no look-up."""
    page = target.partition("#")[0]
    if not page or target.startswith("https:") or target in ids or page in pages:
        return "", ""
    if _SCHEME.match(target):
        return f"the link to {quoted(target)} is left out.", "Write an id, or a link with https."
    if _OTHER_FILE.match(target) and ("/" in target or not page.endswith(".html")):
        return "", ""
    panel = f"panel-{page}.html"
    return (
        f"the link to {quoted(target)} leads nowhere.",
        f"Write {quoted(panel)}." if panel in pages else "",
    )


@lru_cache(maxsize=4)
def _html(text: str) -> str:
    import markdown  # takes long, and most catalogues need none of it here

    return markdown.markdown(text, extensions=["tables"])


def _is_link(text: str, target: str) -> bool:
    """Whether Markdown reads a link to this, or a picture, somewhere in a text: not code, say."""
    if not target:
        return "<img" in _html(text).lower()
    return re.search(f"href *= *[\"']?{re.escape(html.escape(target))}\\b", _html(text)) is not None


def _texts(m: CheckContext, wanted: Callable[[str], bool]) -> Iterator[tuple[str, Place, str]]:
    """Whose it is, where it begins, and the text: every text in Markdown that is wanted."""
    for owner, path, text in _fields(m):
        if wanted(text):
            yield owner, m.at(path), text
    for name, text in m.texts.items():
        if name.startswith("notes/") and wanted(text):
            yield f"note {name.removeprefix('notes/').rpartition('.')[0]}", Place(name), text


def _fields(m: CheckContext) -> Iterator[tuple[str, Path, str]]:
    c = m.catalogue
    records: list[tuple[str, Path, Any]] = [("aircraft", ("aircraft",), c.aircraft)]
    records += [(f"airframe {a.id}", ("airframes", i), a) for i, a in enumerate(c.airframes)]
    records += [(owner, path, record) for _, owner, path, record in records_of(c)]
    records += [(one.owner_words, one.path, one.supply) for one in m.supplies]
    records += [
        (f"failure {f.id}", ("failures", i, *path), then)
        for i, f in enumerate(c.failures)
        for path, then in f.crew_fields
    ]
    for owner, path, record in records:
        fields = vars(record)
        for field in ("statement", "note", "on-loss", "if-it-comes-on"):
            if text := fields.get(field.replace("-", "_")):
                yield owner, (*path, field), text
        for condition, text in fields.get("notes_in", {}).items():
            if text:
                yield owner, (*path, "notes-in", condition), text


@lru_cache(maxsize=4)
def _line_starts(raw: str) -> list[int]:
    return [0, *(match.end() for match in re.finditer("\n", raw))]


def _offset(raw: str, place: Place) -> int:
    starts = _line_starts(raw)
    return starts[min(place.line, len(starts)) - 1] + place.column - 1


def _place(raw: str, index: int, file: str) -> Place:
    line = bisect_right(_line_starts(raw), index)
    return Place(file, line, index - _line_starts(raw)[line - 1] + 1)
