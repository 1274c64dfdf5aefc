"""The theme's scripts as they are published: without comments and blanks, and with short names.

The library that shortens them is a Go program. Its threads are gone in a fork of this process, and
pages are made in forks (`workers.py`): one that calls it waits for ever, now and then. So it runs
in a process of its own, once for all scripts.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Mapping
from functools import lru_cache

from sitegen.resources import theme

_SHORTEN = """
import json, minify, pathlib, sys
texts = (pathlib.Path(path).read_text(encoding="utf-8") for path in sys.argv[1:])
print(json.dumps([minify.string("application/javascript", text) for text in texts]))
"""


@lru_cache(maxsize=1)
def short_scripts() -> Mapping[str, str]:
    """By file name, the text of every script of the theme.

    Raises
    ------
    RuntimeError
        The library is missing, or cannot read a script.
    """
    paths = sorted(theme().glob("*.js"))
    done = subprocess.run(
        [sys.executable, "-c", _SHORTEN, *map(str, paths)],
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    if done.returncode:
        reason = (done.stderr.strip().splitlines() or ["no message"])[-1]
        raise RuntimeError(f"the scripts could not be shortened: {reason}")
    texts: list[str] = json.loads(done.stdout)
    return {path.name: text + "\n" for path, text in zip(paths, texts, strict=True)}
