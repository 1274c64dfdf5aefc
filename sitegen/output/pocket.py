"""One airframe's pages in a single HTML file that asks nothing of anywhere: the pocket edition.

The pages of an airframe say much the same, and farther apart than the 32 KB that deflate looks
back. So they are cut before every opening tag, each distinct piece is kept once, and the order of
the pieces is written as runs that have stood before, with what is new between them. What that
leaves is little, and deflate, which browsers undo by themselves, makes it small.
`themes/workshop/pocket.js` puts it together again.

The same pages give the same file wherever zlib is the same.
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
from sitegen.pages.a_to_z_page import in_find_index
from sitegen.pages.links import SEARCH
from sitegen.pages.theme import OF_EVERY_PAGE, fill, shared_files, theme_text

BEGINNING = "<!doctype html>\n<!-- A pocket edition, made by sitegen. -->\n"
"""A file that begins otherwise is not ours to replace."""

LEFT_OUT: tuple[str, ...] = ()
"""How the names of files begin that a pocket edition does without; its links to them are dead."""

SHORTEST_RUN = 4
"""Fewer pieces than this are not worth pointing back at."""

_BEFORE_A_TAG = re.compile(r"(?=<(?!/))")
_END_OF_SCRIPT = re.compile(r"</script|<!--", re.IGNORECASE)


def pocket_edition(files: Mapping[str, str], values: Mapping[str, Any]) -> str:
    """The text of the one file.

    Parameters
    ----------
    files : by name the files of the airframe's folder, texts all.
    values : what every page has (`sitegen.pages.page_context.frame`), and `airframe`, its name.
    """
    shared = {name: content.decode() for name, content in shared_files()}
    scripts = {n: text for n, text in shared.items() if n.endswith(".js")}
    # The scripts of some pages only lie among the pages, and begin anew with each.
    every = {**files, **{n: text for n, text in scripts.items() if n not in OF_EVERY_PAGE}}
    kept = {n: text for n, text in sorted(every.items()) if not n.startswith(LEFT_OUT)}
    fragments, order, counts = packed(list(kept.values()))
    return BEGINNING + fill(
        "pocket",
        {
            **values,
            "rows": in_find_index(files[SEARCH])["rows"],
            "styles": [(n, Markup(text)) for n, text in shared.items() if n.endswith(".css")],
            "scripts": [
                *(_script(scripts[name]) for name in OF_EVERY_PAGE),
                _script(theme_text("pocket.js")),
            ],
            "table": Markup(json.dumps(list(zip(kept, counts, strict=True)))),
            "pieces": _small("\0".join(fragments).encode()),
            "order": _small(order),
        },
    )


def packed(texts: Sequence[str]) -> tuple[list[str], bytes, list[int]]:
    """Texts as their distinct pieces, and how to put them together again.

    Returns
    -------
    The pieces, in the order in which they first stand; the order of all pieces of all texts; and
    how many pieces each text has. The order is a row of numbers, each with seven bits a byte, the
    lowest first, and the eighth set where more follow. Over and over: a count of pieces, and for
    each of them 0 (the next that has not stood yet) or how far back in the list it is; then the
    length of a run, and how many pieces ago it stood. Pieces past the last one are none.

    Notes
    -----
    The runs are those of Ziv and Lempel (1977), of pieces for letters and without a window.

    Examples
    --------
    >>> packed(["<p>one<p>two", "<p>two"])
    (['', '<p>one', '<p>two'], b'\\x05\\x00\\x00\\x00\\x03\\x01\\x00\\x00', [3, 2])
    """
    numbers: dict[str, int] = {}
    row: list[int] = []
    counts = []
    for text in texts:
        cut = _BEFORE_A_TAG.split(text)
        row += [numbers.setdefault(piece, len(numbers)) for piece in cut]
        counts.append(len(cut))
    return list(numbers), _in_runs(row), counts


def _in_runs(row: Sequence[int]) -> bytes:
    out: list[int] = []
    single: list[int] = []
    latest: dict[tuple[int, ...], int] = {}
    seen = at = 0
    while at < len(row):
        earlier = latest.get(tuple(row[at : at + SHORTEST_RUN]))
        length = 0
        if earlier is not None:
            length = SHORTEST_RUN
            while at + length < len(row) and row[earlier + length] == row[at + length]:
                length += 1
            out += [len(single), *single, length, at - earlier]
            single = []
        else:
            single.append(seen - row[at])
            seen += row[at] == seen
        for k in range(at, min(at + max(length, 1), len(row) - SHORTEST_RUN)):
            latest[tuple(row[k : k + SHORTEST_RUN])] = k
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


def _small(data: bytes) -> str:
    """Deflated, without a frame, in base 64."""
    maker = zlib.compressobj(9, zlib.DEFLATED, -15, 9)
    return base64.b64encode(maker.compress(data) + maker.flush()).decode()


def _script(text: str) -> Markup:
    if _END_OF_SCRIPT.search(text):
        raise ValueError("a script of the theme would end where it stands in a page")
    return Markup(text)


def write_pocket(target: Path, text: str) -> None:
    """Write a pocket edition, in one step at the end.

    Raises
    ------
    PublishRefused : when something else stands there.
    OSError : when the disk refuses.
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
