"""What a browser needs to keep an airframe on a phone, for use without a network.

Each airframe's folder has a list of all the files that its pages need, with a hash of each. The
service worker (`themes/workshop/sw.js`) copies the files of the list, all of them or none, so that
no page mixes two revisions.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from dataclasses import dataclass

from sitegen.catalogue.model import Catalogue
from sitegen.words import day

HASH_DIGITS = 32
"""The hexadecimal digits kept of each SHA-256: 128 bits."""


@dataclass(frozen=True)
class FileEntry:
    """One file of the site in a file list."""

    path: str
    digest: str
    size: int
    """Bytes."""


def file_entry(path: str, content: str | bytes) -> FileEntry:
    """A file's entry in a list."""
    data = content.encode() if isinstance(content, str) else content
    return FileEntry(path, hashlib.sha256(data).hexdigest()[:HASH_DIGITS], len(data))


def file_list(catalogue: Catalogue, files: Iterable[FileEntry]) -> str:
    """The list of what one airframe's pages need, paths below the site.

    Its `revision` changes with every byte of every file; `says` is the revision for a reader.
    """
    entries = sorted(files, key=lambda f: f.path)
    rows = [[f.path, f.digest] for f in entries]
    revision = hashlib.sha256(json.dumps(rows).encode()).hexdigest()[:HASH_DIGITS]
    aircraft = catalogue.aircraft
    content = {
        "revision": revision,
        "says": f"revision {aircraft.revision} of {day(aircraft.revised)}",
        "bytes": sum(f.size for f in entries),
        "files": rows,
    }
    return json.dumps(content, separators=(",", ":")) + "\n"


def manifest(catalogue: Catalogue) -> str:
    """The site's name and icons on a phone's home screen (W3C Web Application Manifest)."""
    aircraft = catalogue.aircraft
    content = {
        "name": f"{aircraft.name}: {aircraft.title}",
        "short_name": aircraft.name,
        "start_url": "./index.html",
        "scope": "./",
        "display": "standalone",
        "background_color": "#f6f3ea",
        "theme_color": "#f6f3ea",
        "icons": [
            {"src": "icon.svg", "sizes": "any", "type": "image/svg+xml"},
            *(
                {
                    "src": f"icon-{size}.png",
                    "sizes": f"{size}x{size}",
                    "type": "image/png",
                    "purpose": purpose,
                }
                for size in (192, 512)
                for purpose in ("any", "maskable")
            ),
        ],
    }
    return json.dumps(content, indent=1) + "\n"
