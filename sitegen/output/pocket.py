"""The pocket edition: one airframe's pages in a single HTML file that needs no network.

The pages of an airframe repeat each other, but farther apart than the 32 KB that deflate looks
back. So they are cut before every opening tag, each distinct fragment is kept once, and the order
of the fragments is written as repeats of earlier sequences, with what is new between them. Deflate,
which browsers decompress by themselves, then makes it small. `themes/workshop/pocket.js` restores
the pages.

The same pages give the same file with the same zlib.
"""

from __future__ import annotations

import base64
import json
import os
import re
import zlib
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from markupsafe import Markup

from sitegen.output.atomic_write import atomic_write
from sitegen.output.publish import PublishRefused
from sitegen.pages.theme import OF_EVERY_PAGE, fill, theme_text, with_policy

BEGINNING = "<!doctype html>\n<!-- A pocket edition, made by sitegen. -->\n"
"""A file that begins otherwise is not replaced."""

SHORTEST_REPEAT = 4
"""Fewer fragments than this are not worth a reference."""

_BEFORE_A_TAG = re.compile(r"(?=<(?!/))")
_END_OF_SCRIPT = re.compile(r"</script|<!--", re.IGNORECASE)


def pocket_edition(
    files: Mapping[str, str],
    values: Mapping[str, Any],
    rows: Sequence[Sequence[object]],
    shared: Mapping[str, str],
) -> str:
    """The text of the one file.

    Parameters
    ----------
    files : the text files of the airframe's folder, by name.
    values : what every page has (`sitegen.pages.page_context.frame`), and the name of the airframe.
    rows : the entries of the list A to Z (`sitegen.pages.a_to_z_page.find_rows`).
    shared : the theme's own files that pages may use, by name.
    """
    scripts = {n: text for n, text in shared.items() if n.endswith(".js")}
    # The scripts that only some pages have are packed like pages, and start anew with each page.
    packed_files = {**files, **{n: t for n, t in scripts.items() if n not in OF_EVERY_PAGE}}
    names = sorted(packed_files)
    fragments, order, counts = packed([packed_files[name] for name in names])
    page = fill(
        "pocket",
        {
            **values,
            "rows": rows,
            "styles": [(n, Markup(text)) for n, text in shared.items() if n.endswith(".css")],
            "scripts": [
                *(_script(scripts[name]) for name in OF_EVERY_PAGE),
                _script(theme_text("pocket.js")),
            ],
            "table": Markup(json.dumps(list(zip(names, counts, strict=True)))),
            "fragments": _deflated("\0".join(fragments).encode()),
            "order": _deflated(order),
        },
    )
    restored = [text for name, text in packed_files.items() if name.endswith((".html", ".js"))]
    return BEGINNING + with_policy(page, restored)


def packed(texts: Sequence[str]) -> tuple[list[str], bytes, list[int]]:
    """Texts as their distinct fragments, and the order that restores them.

    Returns
    -------
    The fragments, in the order of their first use; the order of all fragments of all texts; and how
    many fragments each text has. The order is a sequence of numbers, each with seven bits a byte,
    the lowest first, and the eighth set where more follow. Over and over: a count of fragments, and
    for each of them 0 (the next unused one) or how far back in the list it is; then the length of
    a repeat, and how many fragments ago it began. The last repeat has length 0.

    Notes
    -----
    The repeats are those of Ziv and Lempel (1977), with fragments for letters and without a window.

    Examples
    --------
    >>> packed(["<p>one<p>two", "<p>two"])
    (['', '<p>one', '<p>two'], b'\\x05\\x00\\x00\\x00\\x03\\x01\\x00\\x00', [3, 2])
    """
    numbers: dict[str, int] = {}
    row: list[int] = []
    counts = []
    for text in texts:
        fragments = _BEFORE_A_TAG.split(text)
        row += [numbers.setdefault(fragment, len(numbers)) for fragment in fragments]
        counts.append(len(fragments))
    return list(numbers), _with_repeats(row), counts


def _with_repeats(row: Sequence[int]) -> bytes:
    out: list[int] = []
    single: list[int] = []
    latest: dict[tuple[int, ...], int] = {}
    seen = at = 0
    while at < len(row):
        earlier = latest.get(tuple(row[at : at + SHORTEST_REPEAT]))
        length = 0
        if earlier is not None:
            length = SHORTEST_REPEAT
            while at + length < len(row) and row[earlier + length] == row[at + length]:
                length += 1
            out += [len(single), *single, length, at - earlier]
            single = []
        else:
            single.append(seen - row[at])
            seen += row[at] == seen
        for k in range(at, min(at + max(length, 1), len(row) - SHORTEST_REPEAT)):
            latest[tuple(row[k : k + SHORTEST_REPEAT])] = k
        at += max(length, 1)
    return _as_bytes([*out, len(single), *single, 0, 0])


def _as_bytes(numbers: Iterable[int]) -> bytes:
    out = bytearray()
    for number in numbers:
        while number > 127:
            out.append(number & 127 | 128)
            number >>= 7
        out.append(number)
    return bytes(out)


def _deflated(data: bytes) -> str:
    """Raw deflate (RFC 1951), in base 64."""
    compressor = zlib.compressobj(9, zlib.DEFLATED, -15, 9)
    return base64.b64encode(compressor.compress(data) + compressor.flush()).decode()


def _script(text: str) -> Markup:
    if _END_OF_SCRIPT.search(text):
        raise ValueError(
            "a script of the theme contains `</script` or `<!--`, which ends it early in a page"
        )
    return Markup(text)


def write_pocket(target: Path, text: str) -> None:
    """Write a pocket edition, in one step at the end.

    Raises
    ------
    PublishRefused : the target is a folder, or a file that is not a pocket edition.
    OSError : the file cannot be written.
    """
    target = Path(os.path.realpath(target))
    if target.is_dir():
        raise PublishRefused(f"{target} is a folder. Name a file with --pocket.")
    if target.exists():
        with open(target, "rb") as file:
            if file.read(len(BEGINNING)) != BEGINNING.encode():
                raise PublishRefused(
                    f"{target} is not a pocket edition, and would be replaced."
                    " Move it away, or name another file with --pocket."
                )
    target.parent.mkdir(parents=True, exist_ok=True)
    atomic_write(target, text)
