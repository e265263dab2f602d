"""Whatever is asked of a ledger in whatever order: what is read is what was acknowledged."""

from __future__ import annotations

import shutil
import tempfile
from collections import defaultdict
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from app.ledger.ledger import Draft, Ledger, LedgerTrouble, Stored, Transaction
from tests.ledger.bench import Clock, together

STREAMS = ("site", "run/R-0001", "run/R-0002")

streams = st.sampled_from(STREAMS)
keys = st.sampled_from([f"key-{n}" for n in range(8)])
parts = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=8)
appends = st.tuples(st.just("append"), streams, parts)
onces = st.tuples(st.just("once"), streams, keys)
raises = st.tuples(st.just("raise"), streams, parts)
floats = st.tuples(st.just("float"), streams, parts)
errands = st.lists(appends | onces | raises | floats, min_size=1, max_size=6)

Errand = Callable[[Transaction], list[Stored]]


def errand_of(sort: str, stream: str, text: str) -> Errand:
    def errand(transaction: Transaction) -> list[Stored]:
        if sort == "once" and transaction.receipt(stream, text):
            return []
        body: dict[str, Any] = {"part": text}
        events = [transaction.append(Draft(stream, "EntryMade", body, by="JB"), text)]
        if sort == "once":
            transaction.keep_receipt(stream, text, "f", "{}")
        if sort == "raise":
            raise KeyError(text)
        if sort == "float":
            body = {"load": 9.0}
        events.append(transaction.append(Draft(stream, "StepDone", body, by="JB"), text))
        return events

    return errand


def break_off(transaction: Transaction) -> list[Stored]:
    transaction.connection.exec_driver_sql("ROLLBACK")
    return []


class Keeping(RuleBasedStateMachine):
    """Batches of errands, some of which raise; batches that break off; restarts; a loose clock."""

    @initialize()
    def make(self) -> None:
        self.home = Path(tempfile.mkdtemp(prefix="ledger-"))
        self.clock = Clock()
        Ledger.create(self.home / "site")
        self.kept: dict[str, list[Stored]] = defaultdict(list)
        self.order: list[Stored] = []
        self.told: list[Stored] = []
        self.once: set[tuple[str, str]] = set()
        self.open()

    def open(self) -> None:
        self.ledger = Ledger.open(self.home / "site", self.clock)
        self.ledger.after_commit(self.told.extend)

    @rule(batch=errands)
    def carry_out(self, batch: list[tuple[str, str, str]]) -> None:
        futures = together(self.ledger, [errand_of(*each) for each in batch])
        for (sort, stream, text), future in zip(batch, futures, strict=True):
            if sort in {"raise", "float"}:
                assert isinstance(future.exception(), KeyError if sort == "raise" else ValueError)
                continue
            events = future.result()
            assert bool(events) == (sort == "append" or (stream, text) not in self.once)
            if sort == "once":
                self.once.add((stream, text))
            self.kept[stream] += events
            self.order += events

    @rule(batch=errands)
    def carry_out_in_a_batch_that_breaks_off(self, batch: list[tuple[str, str, str]]) -> None:
        futures = together(self.ledger, [*(errand_of(*each) for each in batch), break_off])
        assert all(isinstance(future.exception(), LedgerTrouble) for future in futures)

    @rule(seconds=st.integers(-20, 20))
    def clock_moves(self, seconds: int) -> None:
        self.clock.now += timedelta(seconds=seconds)

    @rule()
    def start_again(self) -> None:
        self.ledger.close()
        self.open()

    @invariant()
    def what_is_read_is_what_was_acknowledged(self) -> None:
        if not hasattr(self, "ledger"):
            return
        read = [event for event in self.ledger.read_all() if event.kind != "ClockSteppedBack"]
        assert read == self.order
        for stream in STREAMS:
            found = [e for e in self.ledger.read(stream) if e.kind != "ClockSteppedBack"]
            assert found == self.kept[stream]

    @invariant()
    def what_caches_were_told_is_what_is_there(self) -> None:
        if hasattr(self, "ledger"):
            assert self.told == list(self.ledger.read_all())

    @invariant()
    def chains_hold_and_times_do_not_go_back(self) -> None:
        if hasattr(self, "ledger"):
            times = [event.at for event in self.ledger.read_all()]
            assert self.ledger.verify() == []
            assert times == sorted(times)

    def teardown(self) -> None:
        if hasattr(self, "ledger"):
            self.ledger.close()
            shutil.rmtree(self.home)


TestKeeping = Keeping.TestCase
TestKeeping.settings = settings(max_examples=40, stateful_step_count=15, deadline=None)
