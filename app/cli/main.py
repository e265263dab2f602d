"""One errand from the command line, done and told.

Every errand ends with 0 (yes), 1 (no: the sentences say why) or 2 (could not be read or done).
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from app.cli.arguments import parser_of
from app.cli.told import CANNOT, Trouble
from app.desk.demo.shift import Stuck
from app.desk.founding import NotFounded
from app.ledger.trouble import LedgerTrouble
from app.record.trouble import RecordTrouble
from app.settings import SettingsTrouble, settings_from

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable, Sequence

    from app.cli.serving import Door, Web

TROUBLES = (Trouble, SettingsTrouble, NotFounded, LedgerTrouble, RecordTrouble, Stuck)


def main(arguments: Sequence[str], web: Web, door: Door | None = None) -> int:
    """Do one errand and return its exit code.

    Args:
        arguments: as typed.
        web: makes the application that `serve` serves.
        door: makes the one at which tablets get the site's certificate.
    """
    try:
        asked = parser_of(settings_from()).parse_args(arguments)
        asked.web = web
        asked.door = door
        errand: Callable[[argparse.Namespace], int] = asked.errand
        return errand(asked)
    except TROUBLES as trouble:
        print(trouble, file=sys.stderr)
        return CANNOT
    except OSError as trouble:
        print(f"{trouble.filename or 'The system'}: {trouble.strerror}.", file=sys.stderr)
        return CANNOT
    except KeyboardInterrupt:
        return CANNOT
