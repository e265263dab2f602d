"""What a keeper of the server could do: tell the run otherwise, mend every chain, seal it anew."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import Any

import orjson

from app.ledger.canonical import canonical, digest
from app.ledger.chain import GENESIS
from app.ledger.stored import Stored, unseal
from app.record.sources import Sources

Envelope = dict[str, Any]
Forgery = Callable[[list[Envelope]], None]


def envelopes(events: Iterable[Stored]) -> list[Envelope]:
    """Return events as plain data that can be changed."""
    return [orjson.loads(each.canonical) for each in events]


def chained(told: Sequence[Envelope]) -> tuple[Stored, ...]:
    """Return the events with numbers, references and hashes that fit again."""
    events: list[Stored] = []
    prev = GENESIS
    moved = {each["seq"]: number for number, each in enumerate(told, start=1)}
    for number, each in enumerate(told, start=1):
        each["seq"] = number
        for name in ("entry", "replaces"):  # entries are called by the number of their event
            if each["body"].get(name) in moved:
                each["body"][name] = moved[each["body"][name]]
        each["prev"] = prev
        content = canonical(each)
        prev = digest(content)
        events.append(unseal(content, prev))
    return tuple(events)


def forged(sources: Sources, change: Forgery) -> Sources:
    """Return the sources with the run told otherwise, the site's notes of its heads mended too."""
    told = envelopes(sources.events)
    change(told)
    events = chained(told)
    hashes = {each.seq: each.hash for each in events}
    site = envelopes(sources.site_events)
    for each in site:
        if each["kind"] == "HeadNoted":
            kind = "RunClosed" if each is site[-1] else "StepDone"
            seq = _anchor(events, kind)
            each["body"] |= {"seq": seq, "hash": hashes[seq]}
        elif each["kind"] == "RunOpened":
            each["by"], each["at"] = told[0]["by"], told[0]["at"]
    return replace(sources, events=events, site_events=chained(site))


def _anchor(events: Sequence[Stored], kind: str) -> int:
    if kind == "RunClosed":
        return events[-1].seq
    done = [e.seq for e in events if e.kind == kind and e.body.get("step") == "released"]
    return done[-1] if done else events[-1].seq


def first(told: list[Envelope], kind: str, **body: object) -> Envelope:
    """Return the first event of a kind whose body holds these values."""
    return next(
        each
        for each in told
        if each["kind"] == kind and all(each["body"].get(k) == v for k, v in body.items())
    )
