"""What differs between two published sites: files, and what pages say and link to.

A page is compared as a sequence of what a reader gets of it: texts (with single spaces), addresses,
labels and checked boxes; not its classes and ids, which are the theme's own. With `--words`, a file
of tab-separated pairs, the patterns of the first column are replaced by the second in the old
site's texts, so that a change of wording alone shows no difference.

`python -m tests.bench.compare_sites OLD NEW [--words FILE] [--most 40]`: each distinct difference
once, with how often it occurs and in which file first. The exit code is 1 if there are any.
"""

from __future__ import annotations

import argparse
import difflib
import re
import sys
from collections import Counter
from html.parser import HTMLParser
from pathlib import Path

ATTRIBUTES = ("href", "src", "alt", "title", "aria-label", "value", "checked", "placeholder")
INLINE = ("a", "abbr", "b", "cite", "code", "em", "i", "small", "span", "strong", "sub", "sup")


class Page(HTMLParser):
    """The texts and addresses of a page, in order."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.lines: list[str] = []
        self.sentence = ""
        self.silent = 0
        self.feed(text)
        self.end_line()

    def end_line(self) -> None:
        text = re.sub(r" (?=[.,;:)])", "", " ".join(self.sentence.split()))
        self.lines += [text] if text else []
        self.sentence = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.silent += tag in ("script", "style")
        if tag not in INLINE:
            self.end_line()
        self.lines += [f"{name}={value}" for name, value in attrs if name in ATTRIBUTES]

    def handle_endtag(self, tag: str) -> None:
        self.silent -= tag in ("script", "style")
        if tag not in INLINE:
            self.end_line()

    def handle_data(self, data: str) -> None:
        if not self.silent:
            self.sentence += data


def lines_of(path: Path) -> list[str]:
    text = path.read_text(encoding="utf-8")
    return Page(text).lines if path.suffix == ".html" else text.splitlines()


def main() -> int:
    parser = argparse.ArgumentParser(description="what differs between two published sites")
    parser.add_argument("old", type=Path)
    parser.add_argument("new", type=Path)
    parser.add_argument("--words", type=Path, help="tab-separated: a pattern, what replaces it")
    parser.add_argument("--most", type=int, default=40, help="differences to print (40)")
    parser.add_argument("--suffixes", nargs="*", default=[".html"], help="kinds of files (.html)")
    arguments = parser.parse_args()
    rows = arguments.words.read_text(encoding="utf-8").splitlines() if arguments.words else []
    pairs = [row.split("\t") for row in rows if row and not row.startswith("#")]
    words = [(re.compile(old), new) for old, new in pairs]

    def mapped(line: str) -> str:
        for pattern, new in words:
            line = pattern.sub(new, line)
        return line

    old, new = (
        {p.relative_to(top).as_posix() for p in top.rglob("*") if p.suffix in arguments.suffixes}
        for top in (arguments.old, arguments.new)
    )
    differences = Counter({f"only in one of the sites: {name}": 1 for name in old ^ new})
    first: dict[str, str] = {}
    for name in sorted(old & new):
        before = [mapped(line) for line in lines_of(arguments.old / name)]
        after = lines_of(arguments.new / name)
        for line in difflib.unified_diff(before, after, n=0, lineterm=""):
            if not line.startswith(("---", "+++", "@@")):
                differences[line] += 1
                first.setdefault(line, name)
    for line, count in differences.most_common(arguments.most):
        print(f"{count:6} {line[:200]}  [{first.get(line, '')}]")
    print(f"{len(old & new)} files compared; {len(differences)} distinct differences")
    return int(bool(differences))


if __name__ == "__main__":
    sys.exit(main())
