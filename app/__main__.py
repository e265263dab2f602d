"""Where the command line and the web application meet: `mirrorwright`, or `python -m app`."""

from __future__ import annotations

import gc
import sys
from typing import TYPE_CHECKING

# While the program is loaded there is nothing to collect, and looking costs a sixth of the start.
gc.disable()

from app.cli import main as cli  # noqa: E402
from app.web.app import create_app  # noqa: E402
from app.web.enrol import enrol_door  # noqa: E402

if TYPE_CHECKING:
    from starlette.types import ASGIApp

    from app.desk.desk import Desk
    from app.desk.trust import Trust
    from app.settings import Settings


def web(desk: Desk, settings: Settings) -> ASGIApp:
    """Return the application of a site."""
    return create_app(desk, hosts=settings.allowed_hosts)


def door(trust: Trust, desk: Desk, settings: Settings) -> ASGIApp:
    """Return the application at which tablets get the site's certificate."""
    hosts = settings.allowed_hosts
    return enrol_door(trust, desk.site.name, hosts=hosts, port=settings.port, door=settings.door)


def main() -> int:
    """Do what was asked on the command line."""
    gc.enable()
    return cli.main(sys.argv[1:], web, door)


if __name__ == "__main__":
    sys.exit(main())
