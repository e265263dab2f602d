"""Photos are kept as pictures and as nothing else."""

from __future__ import annotations

import io

import pytest
from PIL import Image

from app.web.turned_away import TurnedAway
from app.web.uploads import drawn_anew

TURNED_RIGHT = 6  # Exif 2.32, tag 0x0112: row 0 is at the right
WHERE = "Quillmoor, north door"
BEHIND = b"<script>alert(1)</script> PK\x03\x04 and more"


def a_photo(kind: str, size: tuple[int, int] = (40, 20)) -> bytes:
    picture = Image.new("RGB", size, (200, 30, 30))
    notes = picture.getexif()
    notes[0x0112], notes[0x010E] = TURNED_RIGHT, WHERE
    kept = io.BytesIO()
    picture.save(kept, kind, exif=notes)
    return kept.getvalue()


@pytest.mark.parametrize(("kind", "suffix"), [("JPEG", ".jpg"), ("PNG", ".png"), ("WEBP", ".webp")])
def test_a_photo_is_drawn_anew_upright_and_without_what_stood_beside_it(
    kind: str, suffix: str
) -> None:
    sent = a_photo(kind) + BEHIND
    assert WHERE.encode() in sent

    kept, its_suffix = drawn_anew(sent)

    shown = Image.open(io.BytesIO(kept))
    assert (shown.format, its_suffix) == (kind, suffix)
    assert shown.size == (20, 40)
    assert WHERE.encode() not in kept
    assert b"script" not in kept
    assert not shown.getexif()
    red, green, _ = shown.convert("RGB").getpixel((10, 20))  # type: ignore[misc]
    assert red > 150 > green
    assert drawn_anew(sent)[0] == kept  # sent again, it is the same entry


@pytest.mark.parametrize(
    "sent",
    [b"", b"GIF89a" + b"x" * 99, BEHIND, a_photo("JPEG")[:200], b"\x89PNG\r\n\x1a\n" + b"0" * 50],
    ids=["nothing", "gif", "page", "half", "head"],
)
def test_what_is_no_whole_photo_is_told_so(sent: bytes) -> None:
    with pytest.raises(TurnedAway) as turned_away:
        drawn_anew(sent)

    assert turned_away.value.status == 422
    assert turned_away.value.refusal.sentence == (
        "That is not a photo that can be opened. Take it again. Not saved."
    )
