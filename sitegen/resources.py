"""Where the project's own data is: beside the package in a checkout, inside it in a wheel."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def _folder(name: str) -> Path:
    inside = _PACKAGE / name
    return inside if inside.is_dir() else _PACKAGE.parent / name


def demo_catalogue() -> Path:
    """The folder of the demo catalogue, an invented aircraft."""
    return _folder("data") / "tarn-19"


def reference(name: str) -> Path:
    """A table from an open standard, by its file name."""
    return _folder("data") / "reference" / name


def theme(name: str = "workshop") -> Path:
    """The folder of a theme's templates, styles, scripts and symbols."""
    return _folder("themes") / name
