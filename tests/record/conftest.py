"""Keys, one printing room and sealed records, made once for all tests of the record."""

from __future__ import annotations

import ctypes.util
import os
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest

from app.record.keys import SiteKeys
from app.record.making import attached_files, make_record
from app.record.pdf import Renderer
from app.record.printing import Job, Printed
from tests.record.played import Played, a_played_run

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from app.record.sources import Sources

SITE = "Quillmoor Observatory"
PANGO = ("gobject-2.0", "pango-1.0", "pangoft2-1.0", "harfbuzz-subset")


@dataclass(frozen=True)
class Sealed:
    """A sealed record and what it was made of."""

    run: Played
    sources: Sources
    printed: Printed
    pdf: bytes
    keys: SiteKeys


@pytest.fixture(scope="session")
def keys(tmp_path_factory: pytest.TempPathFactory) -> SiteKeys:
    folder = tmp_path_factory.mktemp("site") / "keys"
    return SiteKeys.found(folder, site=SITE, now=datetime.now(UTC))


@pytest.fixture(scope="session")
def other_keys(tmp_path_factory: pytest.TempPathFactory) -> SiteKeys:
    """A stranger's keys, whose certificates bear the same names."""
    folder = tmp_path_factory.mktemp("stranger") / "keys"
    return SiteKeys.found(folder, site=SITE, now=datetime.now(UTC))


@pytest.fixture(scope="session")
def renderer() -> Iterator[Renderer]:
    missing = [name for name in PANGO if ctypes.util.find_library(name) is None]
    if missing:
        sentence = f"Pango is not all there: {', '.join(missing)}; .ci/run says what brings it."
        if os.environ.get("CI"):
            pytest.fail(sentence)
        pytest.skip(sentence)
    room = Renderer()
    yield room
    room.close()


@pytest.fixture(scope="session")
def sealed(keys: SiteKeys, renderer: Renderer) -> Sealed:
    run = a_played_run(keys.fingerprint)
    sources = run.sources()
    files = attached_files(sources, keys.certificates_pem)
    printed = renderer.render(Job(sources.document(keys.fingerprint), files))
    pdf = make_record(sources, keys, renderer=renderer)
    return Sealed(run, sources, printed, pdf, keys)


@pytest.fixture
def file(sealed: Sealed, tmp_path: Path) -> Path:
    """The sealed record as a file."""
    path = tmp_path / "record.pdf"
    path.write_bytes(sealed.pdf)
    return path
