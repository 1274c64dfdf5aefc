"""The icons for a home screen, drawn from the rectangles of `icon.svg`.

`python -m tests.browser.icons` writes them into the theme; `test_offline.py` compares.
"""

from __future__ import annotations

import re

from PIL import Image, ImageDraw

from sitegen.resources import theme

SIZES = (192, 512)
RECT = re.compile(r'<rect x="(\d+)" y="(\d+)" width="(\d+)" height="(\d+)" fill="(#\w+)"/>')


def drawn(size: int) -> Image.Image:
    image = Image.new("RGB", (size, size))
    pen = ImageDraw.Draw(image)
    scale = size // 64
    for x, y, width, height, fill in RECT.findall((theme() / "icon.svg").read_text()):
        left, top = int(x) * scale, int(y) * scale
        right, bottom = left + int(width) * scale, top + int(height) * scale
        pen.rectangle((left, top, right - 1, bottom - 1), fill=fill)
    return image


if __name__ == "__main__":
    for size in SIZES:
        image = drawn(size).quantize(colors=4)
        image.save(theme() / f"icon-{size}.png", optimize=True)
