from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from app.ledger.blobs import Blobs
from app.ledger.canonical import digest
from app.ledger.ledger import LedgerTrouble

PHOTO = b"\xff\xd8 a photo of bracket 14"


@pytest.fixture
def blobs(tmp_path: Path) -> Blobs:
    return Blobs(tmp_path / "photos")


def test_a_photo_is_found_by_the_digest_of_its_bytes(blobs: Blobs, tmp_path: Path) -> None:
    sha256 = blobs.keep(PHOTO, ".jpg")

    assert sha256 == digest(PHOTO)
    assert blobs.read(sha256) == PHOTO
    assert blobs.path(sha256) == tmp_path / "photos" / f"{sha256}.jpg"


def test_the_same_photo_is_kept_once(blobs: Blobs, tmp_path: Path) -> None:
    assert blobs.keep(PHOTO, ".jpg") == blobs.keep(PHOTO, ".jpg")
    assert len(list((tmp_path / "photos").iterdir())) == 1


@pytest.mark.parametrize("name", ["", "../secret", "*", digest(b"never kept"), "A" * 64])
def test_what_was_never_kept_is_not_found(blobs: Blobs, name: str) -> None:
    blobs.keep(PHOTO, ".jpg")

    assert blobs.path(name) is None
    assert blobs.read(name) is None


@pytest.mark.parametrize("suffix", ["", "jpg", ".JPG", "./x", ".jpg/..", ".toolongsuffix"])
def test_a_suffix_is_plain(blobs: Blobs, suffix: str) -> None:
    with pytest.raises(ValueError, match="is not a suffix"):
        blobs.keep(PHOTO, suffix)


def test_a_photo_that_changed_on_the_disk_is_not_shown_and_can_be_put_back(blobs: Blobs) -> None:
    sha256 = blobs.keep(PHOTO, ".jpg")
    path = blobs.path(sha256)
    assert path is not None
    path.write_bytes(PHOTO + b"!")

    with pytest.raises(LedgerTrouble) as trouble:
        blobs.read(sha256)
    blobs.keep(PHOTO, ".jpg")

    assert trouble.value.code == "corrupt"
    assert blobs.read(sha256) == PHOTO


def test_a_full_disk_leaves_no_half_a_photo(
    blobs: Blobs, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)

    with pytest.raises(LedgerTrouble) as trouble:
        blobs.keep(PHOTO, ".jpg")

    assert trouble.value.code == "disk_full"
    assert list((tmp_path / "photos").iterdir()) == []
