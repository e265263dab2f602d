"""Makes the databases that are measured: real events, real hashes, written in bulk.

Every event goes through `seal`, as the ledger's own writer has it; only the writing is in bulk.
Past runs have 502 events each, so that one of them weighs the same whatever the size of the file.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from app.desk.desk import Desk
from app.ledger.chain import GENESIS
from app.ledger.database import FILE, connect
from app.ledger.stored import SITE, Draft, Head, Stored, seal
from app.ledger.transaction import row_of
from app.procedure.loader import load_procedure, load_site
from app.procedure.model import Procedure, Site
from app.run.events import EntryMade, Event, RunClosed, RunOpened, StepDone, kind_name, to_body
from tests.bench import texts

BEGUN = datetime(2016, 1, 1, tzinfo=UTC)
PACE = timedelta(minutes=5)  # a million events are then nine and a half years
AT_ONCE = 20_000
INSERT = (
    "INSERT INTO events (stream, seq, at, by, kind, hash, canonical) "
    "VALUES (:stream, :seq, :at, :by, :kind, :hash, :canonical)"
)


@dataclass(slots=True)
class Seeds:
    """A database under way: the next number of a run, the time, the heads."""

    connection: sqlite3.Connection
    site: Site
    now: datetime = BEGUN + PACE
    runs: int = 0
    events: int = 0
    _heads: dict[str, Head] = field(default_factory=dict)
    _waiting: list[dict[str, object]] = field(default_factory=list)
    _models: dict[str, Procedure] = field(default_factory=dict)

    def add(self, stream: str, event_kind: str, body: dict[str, object], by: str) -> Stored:
        """Append one event."""
        head = self._heads.get(stream, Head(0, GENESIS))
        self.now += PACE
        key = f"seed-{self.events}"
        stored = seal(Draft(stream, event_kind, body, by, "seeded"), key, self.now, head)
        self._heads[stream] = Head(stored.seq, stored.hash)
        self._waiting.append(row_of(stored))
        self.events += 1
        if len(self._waiting) >= AT_ONCE:
            self.write()
        return stored

    def write(self) -> None:
        """Write what waits."""
        self.connection.execute("BEGIN IMMEDIATE")
        self.connection.executemany(INSERT, self._waiting)
        self.connection.execute("COMMIT")
        self._waiting.clear()

    def begin_at_the_site(self) -> None:
        """Go on where the founding left the site's own stream."""
        found = self.connection.execute(
            "SELECT seq, hash FROM events WHERE stream = ? ORDER BY seq DESC LIMIT 1", (SITE,)
        ).fetchone()
        self._heads[SITE] = Head(*found)

    def open_run(self, measured: texts.Measured) -> str:
        """Open one more run."""
        self.runs += 1
        run = f"R-{self.runs:04d}"
        model = self._model(measured)
        body = {"run": run, "procedure": model.id, "revision": 1, "sha256": model.sha256}
        self.add(SITE, "RunOpened", body, "SL")
        opened = RunOpened(
            run=run,
            procedure=model.id,
            revision=1,
            title=model.title,
            sha256=model.sha256,
            asset="primary",
            facts={"load_on": "cell"},
        )
        self._happen(run, opened, "SL")
        return run

    def enter(self, run: str, step: str, part: str = "", *, done: bool) -> None:
        """Enter on a step; `done` when the step is done with it."""
        result = {"result": "good"} if part else {}
        made = EntryMade(
            step=step, part=part, seat=-1, round=1, values=result, computed={}, readings={},
            verdict="good", saying="", signed=False, replaces=0,
        )  # fmt: skip
        self._happen(run, made, "AB")
        if done:
            self._happen(run, StepDone(step=step, sets={}), "AB")

    def close_run(self, run: str) -> None:
        """Close a run, and note its head as the desk does."""
        closed = self._happen(run, RunClosed(statement="All steps are done."), "SL")
        body = {"run": run, "seq": closed.seq, "hash": closed.hash}
        self.add(SITE, "HeadNoted", body, "SL")

    def _happen(self, run: str, event: Event, by: str) -> Stored:
        return self.add(f"run/{run}", kind_name(event), to_body(event), by)

    def _model(self, measured: texts.Measured) -> Procedure:
        if measured.id not in self._models:
            model, faults = load_procedure(measured.text.encode(), f"{measured.id}.toml", self.site)
            if model is None:
                raise ValueError(str(faults[0]))
            self._models[measured.id] = model
        return self._models[measured.id]


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """How large a site is to be made, and which runs stand open in it."""

    past_events: int
    few: int = 0  # runs with 20 entries
    many: int = 0  # runs with 2,000 entries
    short: int = 0  # runs of 30 steps
    long: int = 0  # runs of 300 steps


@dataclass(frozen=True, slots=True, kw_only=True)
class Seeded:
    """A site that was made, and its open runs."""

    folder: Path
    events: int
    few: tuple[str, ...]
    many: tuple[str, ...]
    short: tuple[str, ...]
    long: tuple[str, ...]


def make(folder: Path, asked: Asked) -> Seeded:
    """Make a site."""
    procedures = {f"{each.id}.toml": each.text.encode() for each in texts.ALL}
    Desk.found(
        folder, texts.SITE.encode(), texts.PEOPLE, procedures,
        reviewer="SL", releaser="HL", clock=lambda: BEGUN,
    )  # fmt: skip
    site, _ = load_site(texts.SITE, "site.toml")
    if site is None:
        raise ValueError("the measured site does not load")
    seeds = Seeds(connect(folder / FILE, "rw"), site)
    seeds.begin_at_the_site()
    while seeds.events < asked.past_events:
        _past(seeds)
    made = Seeded(
        folder=folder,
        few=_several(asked.few, lambda: _rows(seeds, 20)),
        many=_several(asked.many, lambda: _rows(seeds, 2000)),
        short=_several(asked.short, lambda: seeds.open_run(texts.SHORT)),
        long=_several(asked.long, lambda: seeds.open_run(texts.LONG)),
        events=seeds.events,
    )
    seeds.write()
    seeds.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    seeds.connection.close()
    return made


def _several(count: int, one: Callable[[], str]) -> tuple[str, ...]:
    return tuple(one() for _ in range(count))


def _past(seeds: Seeds) -> None:
    run = seeds.open_run(texts.PAST)
    for number in range(texts.PAST.ticks):
        seeds.enter(run, texts.PAST.step(number), done=True)
    seeds.close_run(run)


def _rows(seeds: Seeds, entries: int) -> str:
    run = seeds.open_run(texts.ROWS)
    for step, part in _first(texts.ROWS.parts, entries):
        seeds.enter(run, step, part, done=part == f"F{texts.ROWS.in_row:03d}")
    return run


def _first(parts: list[tuple[str, str]], count: int) -> Iterator[tuple[str, str]]:
    yield from parts[:count]
