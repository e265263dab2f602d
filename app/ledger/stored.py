"""What goes into the ledger and what comes out: drafts, stored events, heads, receipts."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import orjson

from app.ledger.canonical import VERSION, canonical, digest, time_text

SITE = "site"  # the stream of the house itself

_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z", re.ASCII)
_SHAPE: dict[str, type] = {
    **dict.fromkeys(("stream", "at", "by", "device", "key", "kind", "prev"), str),
    **dict.fromkeys(("v", "seq"), int),
    "body": dict,
}


@dataclass(frozen=True, slots=True)
class Draft:
    """An event as an errand asks for it; the ledger adds number, time and chain."""

    stream: str
    kind: str
    body: Mapping[str, Any]
    by: str
    device: str = ""


@dataclass(frozen=True, slots=True)
class Head:
    """The end of a stream: its last event's number and hash."""

    seq: int
    hash: str


@dataclass(frozen=True, slots=True)
class Receipt:
    """What was answered to a key, and the fingerprint of what had been asked."""

    stream: str
    key: str
    fingerprint: str
    answer: str  # JSON


@dataclass(frozen=True, slots=True)
class Stored:
    """An event of the ledger, with the bytes that its hash is taken over."""

    stream: str
    seq: int
    at: datetime
    by: str
    device: str
    key: str
    kind: str
    body: Mapping[str, Any]
    prev: str
    hash: str
    canonical: bytes


def seal(draft: Draft, key: str, at: datetime, head: Head) -> Stored:
    """Return the event that follows a head.

    Raises:
        NotCanonicalError: the draft holds something that the ledger does not keep.
    """
    envelope = {
        "v": VERSION,
        "stream": draft.stream,
        "seq": head.seq + 1,
        "at": time_text(at),
        "by": draft.by,
        "device": draft.device,
        "key": key,
        "kind": draft.kind,
        "body": draft.body,
        "prev": head.hash,
    }
    content = canonical(envelope)
    return unseal(content, digest(content))


def unseal(content: bytes, its_hash: str) -> Stored:
    """Return the event that canonical bytes spell.

    Raises:
        ValueError: the bytes are not the envelope of an event.
    """
    envelope, at = _envelope(content)
    return Stored(
        stream=envelope["stream"],
        seq=envelope["seq"],
        at=at,
        by=envelope["by"],
        device=envelope["device"],
        key=envelope["key"],
        kind=envelope["kind"],
        body=envelope["body"],
        prev=envelope["prev"],
        hash=its_hash,
        canonical=content,
    )


def sound_envelope(content: bytes, its_hash: str) -> dict[str, Any] | None:
    """Return what an event's bytes spell, None where anything about them is not as it must be.

    It says the same as `unseal`, the hash and the quick check of the form together, with each byte
    read once; what is wrong it does not say.
    """
    try:
        envelope, _ = _envelope(content)
        spelt = orjson.dumps(envelope, option=orjson.OPT_SORT_KEYS)
    except ValueError:
        return None
    return envelope if spelt == content and digest(content) == its_hash else None


def _envelope(content: bytes) -> tuple[dict[str, Any], datetime]:
    if not isinstance(content, bytes):  # a column of SQLite holds whatever was put there
        raise ValueError(f"an event is bytes, not {type(content).__name__}")
    envelope = orjson.loads(content)
    if not isinstance(envelope, dict) or {k: type(v) for k, v in envelope.items()} != _SHAPE:
        raise ValueError("these bytes are not the envelope of an event")
    if envelope["v"] != VERSION:
        raise ValueError(f"event form {envelope['v']} is not known to this version")
    if not _TIME.fullmatch(envelope["at"]):
        raise ValueError(f"{envelope['at']} is not how the ledger writes a time")
    return envelope, datetime.fromisoformat(envelope["at"])
