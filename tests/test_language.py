"""Coined words do not come back: the list is in the glossary of the contributor guide."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
GUIDE = ROOT / "DEVELOPERS.md"
TEXTS = {".py", ".jinja", ".js", ".css", ".svg"}
LIST = re.compile(r"```words\n(.*?)```", re.DOTALL)


def banned_words() -> list[tuple[re.Pattern[str], str]]:
    """By line of the list: a pattern for its words, and one for the phrases that are allowed."""
    block = LIST.search(GUIDE.read_text(encoding="utf-8"))
    assert block
    rows = [[cell.strip() for cell in line.split("|")] for line in block[1].splitlines()]
    assert all(len(row) in (2, 3) and row[0] and row[1] for row in rows)
    return [(whole_words(row[0]), row[2] if len(row) == 3 else "") for row in rows]


def whole_words(words: str) -> re.Pattern[str]:
    """The words of a list between commas, in a sentence or as a part of a name."""
    each = "|".join(re.escape(word.strip()).replace("\\ ", r"\s+") for word in words.split(","))
    return re.compile(rf"(?<![a-z])(?:{each})(?![a-z])", re.IGNORECASE)


def uses(text: str, banned: re.Pattern[str], allowed: str) -> list[tuple[int, str]]:
    """(line, word) of each use of a banned word in a text."""
    if allowed:
        text = whole_words(allowed).sub(lambda match: re.sub(r"\S", "_", match[0]), text)
    return [(text.count("\n", 0, m.start()) + 1, m[0]) for m in banned.finditer(text)]


def texts() -> list[tuple[str, str]]:
    """(path, text) of the package, the theme and the guides, without the list itself."""
    files = [ROOT / "README.md", GUIDE, *sorted((ROOT / "docs").glob("*.md"))]
    for folder in ("sitegen", "themes"):
        files += sorted(p for p in (ROOT / folder).rglob("*") if p.suffix in TEXTS)
    return [
        (str(p.relative_to(ROOT)), LIST.sub(blank_lines, p.read_text(encoding="utf-8")))
        for p in files
    ]


def blank_lines(match: re.Match[str]) -> str:
    """As many empty lines, so that what comes after keeps its line number."""
    return "\n" * match[0].count("\n")


def test_no_coined_word_is_used() -> None:
    used = [
        f"{path}:{line}: {word}"
        for path, text in texts()
        for banned, allowed in banned_words()
        for line, word in uses(text, banned, allowed)
    ]
    assert used == [], "\n".join(used)


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ("where it stands", [1]),
        ("def _stands(item): ...", [1]),
        ("a\nSTANDS_IN = 1\nso it\nstands", [2, 4]),
        ("what 'ELT' stands for", []),
        ("outstanding, understands", []),
    ],
)
def test_a_banned_word_is_seen_in_sentences_and_in_names(text: str, lines: list[int]) -> None:
    assert [line for line, _ in uses(text, whole_words("stands"), "stands for")] == lines
