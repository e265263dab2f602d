"""The JSON contract: the new state after an act, or the refusal. Kept blind while counts are blind."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

import orjson
from starlette.responses import Response

from app.desk.desk import Desk
from app.desk.seen import Seen
from app.procedure.entry import Entry
from app.procedure.model import Step
from app.proof.releasing import Book
from app.run.interlocks import why_shut
from app.run.refusal import Refusal
from app.run.scene import Scene, is_blind, needs_signatures
from app.run.state import Progress

STATUS_OF = {  # the code of a refusal, or its first word, and the status that goes with it
    "session": 401,
    "ability": 403,
    "role": 403,
    "correct.role": 403,
    "hold.role": 403,
    "open.released": 404,
    "open.role": 403,
    "seat.role": 403,
    "trouble.role": 403,
    "people.keeper": 403,
    "person": 403,
    "pin": 403,
    "signature": 403,
    "entry.unknown": 404,
    "hold.unknown": 404,
    "page.none": 404,
    "procedure": 404,
    "release.acknowledge": 403,
    "release.author": 403,
    "release.changed": 409,
    "release.none": 404,
    "release.role": 403,
    "release.same_person": 403,
    "run.none": 404,
    "step.unknown": 404,
    "trouble.unknown": 404,
    "conflict": 409,
    "entry.struck": 409,
    "hold.changed": 409,
    "key": 409,
    "part.done": 409,
    "sheet.given_up": 409,
    "step.done": 409,
    "kept.signature": 400,
    "kept.unreadable": 400,
    "kept.not_then": 403,
    "pin.locked": 423,
    "pin.busy": 503,
    "ledger": 503,
    "ledger.disk_full": 507,
}
REFUSED = 422


def status_of(refusal: Refusal) -> int:
    """Return the status of the answer that carries a refusal."""
    word = refusal.code.partition(".")[0]
    return STATUS_OF.get(refusal.code, STATUS_OF.get(word, REFUSED))


def json_answer(body: Mapping[str, Any], status: int = 200) -> Response:
    """Return JSON."""
    return Response(orjson.dumps(body), status_code=status, media_type="application/json")


def refusal_json(refusal: Refusal) -> dict[str, str]:
    """Return a refusal as the contract has it."""
    return {
        "code": refusal.code,
        "sentence": refusal.sentence,
        "who": refusal.who,
        "where": refusal.where,
    }


def state_json(desk: Desk, seen: Seen, step_id: str = "") -> dict[str, Any]:
    """Return the state of a run, with one step: the one named, or the first that is not done."""
    state = seen.state
    step = seen.procedure.step(step_id) or first_not_done(seen)
    stop = state.stop
    gone = state.abandoned
    return {
        "run": state.run,
        "seq": state.seq,
        "status": state.status,
        "abandoned": gone and {"by": gone.by, "at": moment(gone.at), "reason": gone.reason},
        "stop": stop and {"by": stop.by, "at": moment(stop.at), "text": stop.text},
        "step": step and step_json(desk.scene(seen), step),
    }


def book_json(book: Book, person: str) -> dict[str, Any]:
    """Return the texts of a procedure, and what one person has still to read of them."""
    current = book.current
    return {
        "procedure": book.id,
        "released": current.revision if current is not None else 0,
        "to_read": book.to_read(person, current.revision) if current is not None else 0,
        "texts": [
            {
                "revision": text.revision,
                "state": book.state(text),
                "title": text.title,
                "sha256": text.sha256,
                "weight": text.weight,
                "author": text.author,
                "reviewed_by": text.reviewed.by if text.reviewed else "",
                "released_by": text.released.by if text.released else "",
                "withdrawn": text.withdrawn.words if text.withdrawn else "",
            }
            for text in book.texts
        ],
    }


def first_not_done(seen: Seen) -> Step | None:
    """Return the first step in written order that is not done, None when all are."""
    return next((s for s in seen.procedure.steps if not seen.state.progress(s.id).settled), None)


def step_json(scene: Scene, step: Step) -> dict[str, Any]:
    """Return one step as it stands; of a blind one only who has sealed, never what."""
    progress = scene.state.progress(step.id)
    blind = is_blind(scene.state, step)
    shut = () if progress.done else why_shut(scene, step)
    body: dict[str, Any] = {
        "id": step.id,
        "number": step.number,
        "kind": step.kind,
        "do": step.do,
        "state": _state(progress, shut),
        "done_at": moment(progress.done_at),
        "shut": [refusal_json(each) for each in shut],
        "check": step.check,
        "signatures": needs_signatures(step),
        "seats": _seats(step, progress),
        "round": progress.round,
        "blind": blind,
        "troubles": [
            {"trouble": t.number, "part": t.part, "text": t.text, "by": t.by}
            for t in scene.state.open_troubles(step.id)
        ],
    }
    if not blind:
        body["entries"] = [_entry(each) for each in progress.entries]
    return body


def _state(progress: Progress, shut: Sequence[Refusal]) -> str:
    if progress.done:
        return "done"
    if progress.passed_by:
        return "not taken"
    return "shut" if shut else "open"


def _seats(step: Step, progress: Progress) -> list[dict[str, str]]:
    signed = {signature.seat: signature for signature in progress.signatures}
    return [
        {
            "role": role,
            "by": signed[seat].by if seat in signed else "",
            "at": moment(signed[seat].at) if seat in signed else "",
        }
        for seat, role in enumerate(step.seats)
    ]


def _entry(entry: Entry) -> dict[str, Any]:
    return {
        "entry": entry.number,
        "part": entry.part,
        "round": entry.round,
        "by": entry.by,
        "at": moment(entry.at),
        "values": dict(entry.values),
        "computed": dict(entry.computed),
        "verdict": entry.verdict,
        "saying": entry.saying,
        "struck": entry.struck,
        "accepted": entry.accepted,
        "tablet": dict(entry.tablet),
    }


def moment(at: datetime | None) -> str:
    """Return a moment as text, "" for none."""
    return at.isoformat(timespec="microseconds") if at is not None else ""
