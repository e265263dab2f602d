"""What fifty tablets cost the server while nothing happens: each waits with a watch of its own."""

from __future__ import annotations

import asyncio
import json
import os
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from tests.browser.keeping import RUN, Server, served

TABLETS = 50
SECONDS = 12
PAUSE = 0.3  # as static/js/watch.js waits between two
MOST_BYTES = 20 * 1024 * 1024
MOST_OF_A_CORE = 0.05


def cost(server: Server) -> tuple[float, int]:
    """Return the seconds of a core that the server has used, and the memory that it holds."""
    process = Path(f"/proc/{server.process.pid}")
    ticks = process.joinpath("stat").read_text().rpartition(")")[2].split()
    pages = int(process.joinpath("statm").read_text().split()[1])
    used = (int(ticks[11]) + int(ticks[12])) / os.sysconf("SC_CLK_TCK")
    return used, pages * os.sysconf("SC_PAGE_SIZE")


async def watch(server: Server, number: int, until: float) -> int:
    reader, writer = await asyncio.open_connection("127.0.0.1", server.port)
    answers = 0
    ask = (
        f"GET /runs/{RUN}/watch?after=99&unsent=0 HTTP/1.1\r\nHost: 127.0.0.1:{server.port}\r\n"
        f"Accept: application/json\r\nCookie: tablet={number:012x}\r\n\r\n"
    ).encode()
    while time.monotonic() < until:
        writer.write(ask)
        head = await reader.readuntil(b"\r\n\r\n")
        length = int(head.lower().partition(b"content-length: ")[2].partition(b"\r")[0])
        assert b'"seq"' in await reader.readexactly(length)
        answers += 1
        await asyncio.sleep(PAUSE)
    writer.close()
    return answers


async def watch_all(server: Server) -> int:
    until = time.monotonic() + SECONDS
    return sum(await asyncio.gather(*(watch(server, n, until) for n in range(TABLETS))))


def test_fifty_tablets_that_watch_cost_little(round_site: Path) -> None:
    with served(round_site) as server, ThreadPoolExecutor(1) as apart:
        used, held = cost(server)
        began = time.monotonic()
        answers = apart.submit(asyncio.run, watch_all(server)).result()
        passed = time.monotonic() - began
        used_after, held_after = cost(server)

    share, more = (used_after - used) / passed, held_after - held
    told = {"answers": answers, "share_of_a_core": round(share, 4), "MB": round(more / 2**20, 1)}
    print(json.dumps(told))
    assert answers >= TABLETS * 2
    assert share < MOST_OF_A_CORE
    assert more < MOST_BYTES
