"""The server that is measured, and beside it in the same process the bare form route, F.

`python -m tests.bench.server FOLDER PORT`. All under /bare goes to a FastAPI application that has one
synchronous route with the fields of a tick and nothing else; the rest is the application itself.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import uvicorn
from fastapi import FastAPI, Form
from starlette.types import Receive, Scope, Send

from app.desk.desk import Desk
from app.web.app import create_app

bare = FastAPI(openapi_url=None)


@bare.post("/bare/form")
def form(
    key: Annotated[str, Form()], seen: Annotated[int, Form()], part: Annotated[str, Form()] = ""
) -> dict[str, object]:
    """Take the fields of a tick, and do nothing with them."""
    return {"key": key, "seen": seen, "part": part}


class Beside:
    """Two applications in one process."""

    def __init__(self, folder: Path) -> None:
        self._measured = create_app(Desk.open(folder))

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer with the one or the other."""
        apart = scope["type"] == "http" and scope["path"].startswith("/bare/")
        await (bare if apart else self._measured)(scope, receive, send)


def main() -> None:
    """Serve until killed, as `mirrorwright serve` does."""
    folder, port = Path(sys.argv[1]), int(sys.argv[2])
    config = uvicorn.Config(
        Beside(folder), port=port, log_level="warning", access_log=False, server_header=False
    )
    uvicorn.Server(config).run()


if __name__ == "__main__":
    main()
