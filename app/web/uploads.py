"""Photos that come in: looked at before they are kept, so that only pictures are kept."""

from __future__ import annotations

import io
import warnings

from PIL import Image, UnidentifiedImageError

from app.web.guards import PHOTO_LIMIT, megabytes
from app.web.turned_away import TurnedAway, not_readable

FORMATS = {
    "JPEG": (".jpg", "image/jpeg"),
    "PNG": (".png", "image/png"),
    "WEBP": (".webp", "image/webp"),
}
MOST_PIXELS = 80_000_000  # four times what a tablet's camera takes
HEADER = 16


def suffix_of(photo: bytes) -> str:
    """Return the suffix of a photo that really is one.

    Raises:
        TurnedAway: it is too large, or not a JPEG, PNG or WebP picture that can be opened.
    """
    if len(photo) > PHOTO_LIMIT:
        sentence = f"The photo is larger than {megabytes(PHOTO_LIMIT)}. Take it smaller. Not saved."
        raise TurnedAway(413, "photo.too_large", sentence)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(photo), formats=tuple(FORMATS)) as picture:
                kind, pixels = picture.format, picture.width * picture.height
                picture.verify()
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
    if kind not in FORMATS or not 0 < pixels <= MOST_PIXELS:
        raise not_readable("That is not a photo that can be used. Take it again. Not saved.")
    return FORMATS[kind][0]


def media_type(photo: bytes) -> str:
    """Return the type of a kept photo by its first bytes."""
    start = photo[:HEADER]
    if start.startswith(b"\x89PNG"):
        return "image/png"
    return "image/webp" if start[8:12] == b"WEBP" else "image/jpeg"
