"""Where an answer can be read up."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class PageToRead:
    """The page of the site on which the answer stands."""

    file: str
    """Its file in the airframe's folder."""
    title: str
