"""Titles of the ATA 100 chapters, from `data/reference/`."""

from __future__ import annotations

from functools import lru_cache

import yaml

from sitegen.resources import reference


@lru_cache(maxsize=1)
def _titles() -> dict[str, str]:
    text = reference("ata-chapters.yaml").read_text(encoding="utf-8")
    return dict(yaml.safe_load(text)["chapters"])


def chapter(ata: str) -> str:
    """The chapter of an ATA number: `23` of `23-12-01`."""
    return ata[:2]


def chapter_title(number: str) -> str:
    """A chapter's number and title.

    >>> chapter_title("23")
    '23 Communications'
    """
    return f"{number} {_titles()[number]}" if number in _titles() else f"Chapter {number}"
