"""What all tests share: the outside programs that some of them need."""

from __future__ import annotations

import os
import shutil

import pytest


def needs(program: str) -> str:
    """Return where an outside program is; without it the test is skipped, or fails where CI is set."""
    found = shutil.which(program)
    if found is not None:
        return found
    sentence = f"{program} is not installed; .ci/run says which package brings it."
    if os.environ.get("CI"):
        pytest.fail(sentence)
    pytest.skip(sentence)
