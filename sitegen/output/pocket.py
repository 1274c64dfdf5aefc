"""The pocket edition: one airframe's pages in a single HTML file that needs no network.

The pages of an airframe repeat each other, but farther apart than the 32 KB that deflate looks
back. So they are cut before every tag, each distinct fragment is kept once, and the order of the
fragments is written as repeats of earlier sequences, with what is new between them. Deflate, which
browsers decompress by themselves, then makes it small: numbers of one kind stand together, since it
has a code for each kind then. `themes/workshop/pocket.js` restores
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

SHORTEST_REPEAT = 3
"""Fewer fragments than this are not worth a reference."""

STYLES_OF_EVERY_PAGE = ("palette.css", "style.css")
"""The list that is read while the pages are opened, and without scripts, has these."""

_BEFORE_A_TAG = re.compile(r"(?=<)")
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
    # What only some pages have is packed like pages; its scripts start anew with each page.
    of_some = {n: t for n, t in shared.items() if n.endswith((".js", ".css"))}
    for name in (*OF_EVERY_PAGE, *STYLES_OF_EVERY_PAGE):
        of_some.pop(name, None)
    packed_files = {**files, **of_some}
    names = sorted(packed_files)
    fragments, order, counts = packed([packed_files[name] for name in names])
    page = fill(
        "pocket",
        {
            **values,
            "rows": rows,
            "styles": [
                (n, Markup("" if n in of_some else text))
                for n, text in shared.items()
                if n.endswith(".css")
            ],
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
    many fragments each text has. The order is three rows of numbers, after how many bytes the first
    two have. The first row has over and over how many fragments come one by one, and how many then
    repeat an earlier sequence, at last 0; the second, how many fragments ago each of these began:
    of a number each byte has seven bits, the lowest first, and the eighth set where more follow.
    The third has of each fragment that comes by itself 0 (the next unused one) or how far back in
    the list it is, in three bytes: the lowest of all of them, then the middle and the highest ones.

    Notes
    -----
    The repeats are those of Ziv and Lempel (1977), with fragments for letters and without a window.

    Examples
    --------
    >>> packed(["<p>one<p>two", "<p>two"])[::2]
    (['', '<p>one', '<p>two'], [3, 2])
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
    lengths: list[int] = []
    distances: list[int] = []
    singles: list[int] = []
    latest: dict[tuple[int, ...], int] = {}
    seen = at = alone = 0
    while at < len(row):
        earlier = latest.get(tuple(row[at : at + SHORTEST_REPEAT]))
        length = 0
        if earlier is not None:
            length = SHORTEST_REPEAT
            while at + length < len(row) and row[earlier + length] == row[at + length]:
                length += 1
            lengths += [alone, length]
            distances.append(at - earlier)
            alone = 0
        else:
            singles.append(seen - row[at])
            seen += row[at] == seen
            alone += 1
        for k in range(at, min(at + max(length, 1), len(row) - SHORTEST_REPEAT)):
            latest[tuple(row[k : k + SHORTEST_REPEAT])] = k
        at += max(length, 1)
    rows = [_as_bytes([*lengths, alone, 0]), _as_bytes(distances)]
    in_bytes = (bytes(number >> shift & 255 for number in singles) for shift in (0, 8, 16))
    return _as_bytes(map(len, rows)) + b"".join((*rows, *in_bytes))


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
