"""What all tests share: the outside programs that some of them need, and the demo site."""

from __future__ import annotations

import asyncio
import os
import shutil
import sys
from pathlib import Path

import pytest

from app.desk.demo import site as demo
from app.settings import data_folder


def needs(program: str) -> str:
    """Return where an outside program is; without it the test is skipped, or fails where CI is set."""
    beside = str(Path(sys.executable).parent)  # a Python package's own commands
    found = shutil.which(program) or shutil.which(program, path=beside)
    if found is not None:
        return found
    sentence = f"{program} is not installed; .ci/run says which package brings it."
    if os.environ.get("CI"):
        pytest.fail(sentence)
    pytest.skip(sentence)


@pytest.fixture(scope="session")
def demo_made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a demo site, made once for all tests: copy it, never open it."""
    folder = tmp_path_factory.mktemp("demo") / "site"
    asyncio.run(demo.make(folder, data_folder("procedures")))
    return folder


@pytest.fixture
def demo_site(demo_made: Path, tmp_path: Path) -> Path:
    """Return a demo site of one's own."""
    return Path(shutil.copytree(demo_made, tmp_path / "demo-site"))
