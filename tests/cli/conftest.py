"""An errand as a person would type it, and what came back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pytest

from app.cli.main import main


@dataclass(frozen=True, slots=True)
class Told:
    """What an errand came to."""

    code: int
    said: list[str]
    complained: list[str]


Errand = Callable[..., Told]


@pytest.fixture
def errand(capsys: pytest.CaptureFixture[str]) -> Errand:
    def do(*arguments: object) -> Told:
        def no_web(*_: object) -> None:
            raise AssertionError("this errand serves nothing")

        try:
            code = main([str(each) for each in arguments], no_web)  # type: ignore[arg-type]
        except SystemExit as end:  # argparse's own way out
            code = int(str(end.code))
        told = capsys.readouterr()
        return Told(code, told.out.splitlines(), told.err.splitlines())

    return do
