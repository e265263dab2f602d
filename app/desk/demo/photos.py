"""Photos of the demo: drawn, and said to be drawn, so that nobody takes them for photos."""

from __future__ import annotations

import io
from functools import cache

from PIL import Image, ImageDraw, ImageFont

SIZE = (640, 400)
DARK, GLASS, EDGE, TEXT = "#14181b", "#5b6f78", "#c8d2d6", "#eef2f3"


def drawn_photo(what: str, run: str) -> bytes:
    """Return a JPEG that shows the mirror's edge and says what it stands for."""
    picture = Image.new("RGB", SIZE, DARK)
    pen = ImageDraw.Draw(picture)
    turn = sum(what.encode()) % 40 - 20  # each view looks a little different
    pen.ellipse((-300, 150 + turn, 940, 1390 + turn), fill=GLASS, outline=EDGE, width=6)
    pen.text((24, 20), what, fill=TEXT, font=_font(30))
    pen.text((24, 62), f"{run}. Drawn for the demo, not a photo.", fill=TEXT, font=_font(18))
    kept = io.BytesIO()
    picture.save(kept, "JPEG", quality=80)
    return kept.getvalue()


@cache
def _font(size: int) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    return ImageFont.load_default(size)
