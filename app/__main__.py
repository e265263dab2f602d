"""Where the command line and the web application meet: `mirrorwright`, or `python -m app`."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from app.cli import main as cli
from app.web.app import create_app

if TYPE_CHECKING:
    from starlette.types import ASGIApp

    from app.desk.desk import Desk
    from app.settings import Settings


def web(desk: Desk, settings: Settings) -> ASGIApp:
    """Return the application of a site."""
    return create_app(desk, hosts=settings.allowed_hosts)


def main() -> int:
    """Do what was asked on the command line."""
    return cli.main(sys.argv[1:], web)


if __name__ == "__main__":
    sys.exit(main())
