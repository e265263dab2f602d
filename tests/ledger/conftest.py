from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from app.ledger.ledger import Ledger
from tests.ledger.bench import Clock


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    Ledger.create(tmp_path / "site")
    return tmp_path / "site"


@pytest.fixture
def ledger(folder: Path, clock: Clock) -> Iterator[Ledger]:
    with Ledger.open(folder, clock) as opened:
        yield opened
