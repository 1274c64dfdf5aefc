"""The QR code of a link, read by an independent decoder (zxing-cpp, Apache 2.0)."""

from __future__ import annotations

import json
import random
from functools import cache

import pytest
import zxingcpp
from PIL import Image
from py_mini_racer import JSEvalException, MiniRacer

from tests.engine.v8 import THEME

LINK = "https://example.org/site/block-1/board.html#c=cruise&f=left-main:dead,gen-2:lost&p=cb-12"


@cache
def script() -> MiniRacer:
    v8 = MiniRacer()
    # What browsers have and a bare engine has not; Python's own encoder gives the bytes.
    v8.eval("var utf8 = []; class TextEncoder { encode() { return utf8; } }")
    v8.eval((THEME / "qr.js").read_text(encoding="utf-8"))
    return v8


def matrix(text: str) -> list[list[bool]]:
    script().eval(f"utf8 = {list(text.encode())}")
    found: list[list[bool]] = json.loads(str(script().eval("JSON.stringify(qr.matrix(''))")))
    return found


def read(rows: list[list[bool]]) -> tuple[str, str]:
    """The text that a picture of these modules says, and its version and correction level."""
    size = len(rows) + 8
    picture = Image.new("L", (size, size), 255)
    for r, row in enumerate(rows):
        for c, dark in enumerate(row):
            picture.putpixel((c + 4, r + 4), 0 if dark else 255)
    large = picture.resize((size * 4, size * 4), Image.Resampling.NEAREST)
    [found] = zxingcpp.read_barcodes(large)
    return found.text, found.ec_level


@pytest.mark.parametrize("text", ["a", LINK, "Größe → 28 V", LINK * 5])
def test_a_text_is_read_back(text: str) -> None:
    assert read(matrix(text))[0] == text


def test_every_version_up_to_25_is_read_back() -> None:
    chance = random.Random(7)
    sizes = set()
    for length in range(1, 1270, 12):
        text = "".join(chance.choices("abcdefghijklmnopqrstuvwxyz0123456789:/#=&,-", k=length))
        rows = matrix(text)
        if len(rows) not in sizes:
            sizes.add(len(rows))
            assert read(rows)[0] == text
    assert sizes == {17 + 4 * version for version in range(1, 26)}


def test_a_text_too_long_for_level_m_has_level_l_and_then_none() -> None:
    assert read(matrix("x" * 900))[1] == "M"
    assert read(matrix("x" * 1200))[1] == "L"
    with pytest.raises(JSEvalException, match="too long for a QR code"):
        matrix("x" * 1300)
