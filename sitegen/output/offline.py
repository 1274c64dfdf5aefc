"""What a browser needs to keep an airframe on a phone, for where there is no network.

Each airframe's folder has a list of all the files that its pages need, with a hash of each. The
service worker (`themes/workshop/sw.js`) copies them as the list says, all of them or none, so that
what is shown is never of two revisions.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from dataclasses import dataclass

from sitegen.catalogue.model import Catalogue
from sitegen.words import day

HASH_DIGITS = 32
"""So many hexadecimal digits of each SHA-256 are written down: 128 bits."""


@dataclass(frozen=True)
class Listed:
    """One file of the site, as a list names it."""

    path: str
    digest: str
    size: int
    """Bytes."""


def listed_file(path: str, content: str | bytes) -> Listed:
    """A file's line in a list."""
    data = content.encode() if isinstance(content, str) else content
    return Listed(path, hashlib.sha256(data).hexdigest()[:HASH_DIGITS], len(data))


def list_of_files(catalogue: Catalogue, files: Iterable[Listed]) -> str:
    """The list of what one airframe's pages need, paths below the site.

    Its `revision` changes with every byte of every file; `says` is what a person calls it.
    """
    every = sorted(files, key=lambda f: f.path)
    rows = [[f.path, f.digest] for f in every]
    whole = hashlib.sha256(json.dumps(rows).encode()).hexdigest()[:HASH_DIGITS]
    aircraft = catalogue.aircraft
    holds = {
        "revision": whole,
        "says": f"revision {aircraft.revision} of {day(aircraft.revised)}",
        "bytes": sum(f.size for f in every),
        "files": rows,
    }
    return json.dumps(holds, separators=(",", ":")) + "\n"


def manifest(catalogue: Catalogue) -> str:
    """What a phone calls the site on its home screen (W3C Web Application Manifest)."""
    aircraft = catalogue.aircraft
    holds = {
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
    return json.dumps(holds, indent=1) + "\n"
