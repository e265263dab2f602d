"""Bad input at length: `python -m tests.fuzz [--cases 100000] [--first SEED] [--only SURFACE]`.

Each surface gets its share of the cases; what was wrong is told with the seed that draws it again.
"""

from __future__ import annotations

import argparse
import asyncio
import shutil
import sys
import tempfile
import time
from pathlib import Path

from app.desk.demo import site as demo
from app.desk.desk import Desk
from app.run.crew import Person
from app.settings import data_folder
from app.web.app import create_app
from tests.desk.conftest import SECRETS, Clock
from tests.fuzz import surfaces
from tests.fuzz.door import a_request
from tests.fuzz.surfaces import Case, found_wrong
from tests.fuzz.test_fuzz import photos
from tests.run.stage import PEOPLE, SITE, TEXT
from tests.screens.conftest import brief
from tests.screens.visitor import Visitor

SHARES = {
    "site": 8,
    "procedure": 15,
    "value": 15,
    "check": 2,
    "photo": 20,
    "request": 39,
    "paper": 1,
}
EVERY = 150  # requests that one site takes before a fresh one stands in its place


def main() -> int:
    """Do the cases; 1 if something was wrong."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("--cases", type=int, default=100_000)
    parser.add_argument("--first", type=int, default=1_000_000)
    parser.add_argument("--only", choices=SHARES)
    asked = parser.parse_args()
    wrong = 0
    with tempfile.TemporaryDirectory() as name:
        for surface, share in SHARES.items():
            if asked.only in (None, surface):
                count = asked.cases * (100 if asked.only else share) // 100
                wrong += _surface(surface, range(asked.first, asked.first + count), Path(name))
    return 1 if wrong else 0


def _surface(surface: str, seeds: range, folder: Path) -> int:
    started, wrong = time.perf_counter(), 0
    for at in range(0, len(seeds), EVERY):
        share = seeds[at : at + EVERY]
        wrong += (
            _requests(share, folder) if surface == "request" else _plain(surface, share, folder)
        )
    took = time.perf_counter() - started
    print(f"{surface:10} {len(seeds):7} cases, {wrong} wrong, {took:.0f} s", flush=True)
    return wrong


def _plain(surface: str, seeds: range, folder: Path) -> int:
    cases: dict[str, Case] = {
        "site": surfaces.a_site,
        "procedure": surfaces.a_procedure,
        "value": surfaces.a_toml_value,
        "check": surfaces.a_check,
        "photo": surfaces.a_photo(photos()),
    }
    return _told(cases.get(surface) or surfaces.a_paper(_paper(folder)), seeds)


def _told(case: Case, seeds: range) -> int:
    wrong = 0
    for seed in seeds:
        if found := found_wrong(case, seed):
            wrong += 1
            print(f"seed {seed}: {found[:600]}", flush=True)
    return wrong


def _paper(folder: Path) -> bytes:
    site = folder / "demo"
    if not site.exists():
        asyncio.run(demo.make(site, data_folder("procedures")))
    return next((site / "records").rglob("*.pdf")).read_bytes()


def _requests(seeds: range, folder: Path) -> int:
    site = folder / "requests"
    shutil.rmtree(site, ignore_errors=True)
    shutil.copytree(_briefed(folder / "briefed"), site)
    desk = Desk.open(site, clock=Clock())
    loop = asyncio.new_event_loop()
    app = create_app(desk)
    tablet = Visitor(app, loop, SECRETS)
    tablet.sign_on("AB")
    try:
        return _told(a_request(app, tablet), seeds)
    finally:
        while going_on := asyncio.all_tasks(loop):
            loop.run_until_complete(asyncio.wait(going_on))
        tablet.close()
        loop.run_until_complete(loop.shutdown_default_executor())
        loop.close()
        desk.close()


def _briefed(site: Path) -> Path:
    if site.exists():
        return site
    people = [(Person(id=k, name=f"Person {k}", roles=r), SECRETS[k]) for k, r in PEOPLE.items()]
    texts = {"QP-9.toml": TEXT.encode()}
    Desk.found(site, SITE.encode(), people, texts, reviewer="SL", releaser="HL", clock=Clock())
    desk = Desk.open(site, clock=Clock())
    asyncio.run(brief(desk))
    desk.close()
    return site


if __name__ == "__main__":
    sys.exit(main())
