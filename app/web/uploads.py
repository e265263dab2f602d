"""Photos that come in: drawn anew before they are kept, so that only what can be seen is kept.

What a camera writes beside the picture (where it was, whose it is) and what anyone may have hidden
behind it stays outside. The same photo sent again gives the same bytes, so it is the same entry.
"""

from __future__ import annotations

import io
import threading
import warnings

from PIL import Image, ImageOps, UnidentifiedImageError

from app.web.guards import PHOTO_LIMIT, megabytes
from app.web.turned_away import TurnedAway, not_readable

FORMATS = {
    "JPEG": (".jpg", "image/jpeg"),
    "PNG": (".png", "image/png"),
    "WEBP": (".webp", "image/webp"),
}
MOST_PIXELS = 80_000_000  # four times what a tablet's camera takes
QUALITY = 92  # of a JPEG or WebP drawn anew: by eye no difference to the camera's own
_ONE_AT_A_TIME = threading.Lock()  # the largest picture takes a quarter of a gigabyte while drawn
HEADER = 16


def drawn_anew(photo: bytes) -> tuple[bytes, str]:
    """Return a photo as a file of ours, upright and with nothing beside the picture, and its suffix.

    Raises:
        TurnedAway: it is too large, or not a JPEG, PNG or WebP picture that can be opened.
    """
    if len(photo) > PHOTO_LIMIT:
        sentence = f"The photo is larger than {megabytes(PHOTO_LIMIT)}. Take it smaller. Not saved."
        raise TurnedAway(413, "photo.too_large", sentence)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with (
                _ONE_AT_A_TIME,
                Image.open(io.BytesIO(photo), formats=tuple(FORMATS)) as picture,
            ):
                return _drawn(picture)
    except (
        UnidentifiedImageError,
        OSError,
        SyntaxError,
        ValueError,
        Warning,
        Image.DecompressionBombError,
    ) as broken:
        raise not_readable(
            "That is not a photo that can be opened. Take it again. Not saved."
        ) from broken


def _drawn(picture: Image.Image) -> tuple[bytes, str]:
    kind = picture.format or ""
    if kind not in FORMATS or not 0 < picture.width * picture.height <= MOST_PIXELS:
        raise not_readable("That is not a photo that can be used. Take it again. Not saved.")
    picture.load()
    upright = ImageOps.exif_transpose(picture)
    plain = upright.convert("RGBA" if upright.has_transparency_data and kind != "JPEG" else "RGB")
    plain.info.clear()
    kept = io.BytesIO()
    plain.save(kept, kind, **({} if kind == "PNG" else {"quality": QUALITY}))
    return kept.getvalue(), FORMATS[kind][0]


def media_type(photo: bytes) -> str:
    """Return the type of a kept photo by its first bytes."""
    start = photo[:HEADER]
    if start.startswith(b"\x89PNG"):
        return "image/png"
    return "image/webp" if start[8:12] == b"WEBP" else "image/jpeg"
