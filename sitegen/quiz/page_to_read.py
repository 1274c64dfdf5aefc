"""Where an answer can be looked up."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class PageToRead:
    """The page of the site that has the answer."""

    file: str
    """Its file in the airframe's folder."""
    title: str
