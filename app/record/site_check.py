"""Whether a record is anchored in the site's own stream: what is attached of it, and its whole log.

The attached events of the site's stream are a selection, so their chain has gaps; the site's log,
which the site hands out apart from its records, has none. Only beside the log can it be seen that a
whole record was replaced by the keeper of the key.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.ledger.canonical import digest
from app.ledger.chain import event_or_break, stream_break
from app.ledger.stored import SITE, Stored
from app.procedure.registry import kind_of
from app.record.seal_check import Found
from app.record.sources import SITE_EVENTS_FILE, events_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from app.record.sources import Sources

__all__ = ["log_sentences", "site_sentences"]


def site_sentences(files: Mapping[str, bytes], sources: Sources, root: str) -> Iterator[Found]:
    """Yield what holds of the attached part of the site's stream."""
    broken = _broken(files.get(SITE_EVENTS_FILE, b""))
    if broken:
        yield Found(False, broken)
        return
    yield from _founding(sources, root)
    yield from _release(sources)
    yield from _opening(sources)
    yield from _heads(sources)


def _broken(content: bytes) -> str:
    """Return what is wrong with the lines, taken in order; "" if nothing is."""
    last: Stored | None = None
    for line in content.splitlines():
        event = event_or_break(SITE, line, digest(line))
        if not isinstance(event, Stored):
            return f"The site's stream, as attached, is broken: {event.what}"
        if last is not None and event.seq <= last.seq:
            return f"Site event {event.seq} stands after site event {last.seq}."
        if last is not None and event.seq == last.seq + 1 and event.prev != last.hash:
            return f"Site event {event.seq} does not follow site event {last.seq}."
        if last is not None and event.at < last.at:
            return f"Site event {event.seq} is dated before site event {last.seq}."
        last = event
    return ""


def _founding(sources: Sources, root: str) -> Iterator[Found]:
    founded = [each for each in sources.site_events if each.kind == "SiteFounded"]
    if len(founded) != 1:
        yield Found(False, "The site's stream, as attached, does not tell of its founding.")
        return
    if founded[0].body.get("site_sha256") != digest(sources.site):
        yield Found(False, "The attached site.toml is not the one with which the site was founded.")
    if founded[0].body.get("root") != root:
        yield Found(False, "The site's stream names another root than that of the seal.")


def _release(sources: Sources) -> Iterator[Found]:
    opened = sources.events[0]
    text = opened.body.get("sha256")
    told = [e for e in sources.site_events if e.body.get("sha256") == text and e.at <= opened.at]
    kinds = [each.kind for each in told]
    if "ProcedureReleased" not in kinds:
        yield Found(False, "The site's stream does not tell that this procedure was released.")
    elif "ProcedureWithdrawn" in kinds:
        yield Found(False, "The procedure was withdrawn before the run was opened.")
    else:
        release = next(each for each in told if each.kind == "ProcedureReleased")
        yield Found(
            True,
            f"The procedure was released by {release.by} on {release.at:%Y-%m-%d}, site event "
            f"{release.seq}, before the run was opened.",
        )


def _opening(sources: Sources) -> Iterator[Found]:
    opened = sources.events[0]
    told = [each for each in sources.site_events if each.kind == "RunOpened"]
    same = ("procedure", "revision", "sha256", "run")
    if len(told) != 1 or any(told[0].body.get(k) != opened.body.get(k) for k in same):
        yield Found(False, "The site's stream does not tell of the opening of this run as it is.")
    elif (told[0].at, told[0].by) != (opened.at, opened.by):
        yield Found(False, "The site's stream tells another time or person of the opening.")


def _heads(sources: Sources) -> Iterator[Found]:
    hashes = {each.seq: each.hash for each in sources.events}
    noted = [each for each in sources.site_events if each.kind == "HeadNoted"]
    wrong = [e for e in noted if hashes.get(e.body.get("seq", 0)) != e.body.get("hash")]
    for each in wrong:
        yield Found(
            False,
            f"Site event {each.seq} noted another event {each.body.get('seq')} of this run than "
            "the one attached: what came before was changed.",
        )
    known = {each.body.get("seq") for each in noted}
    lacking = [seq for seq in _noted_by_rule(sources) if seq not in known]
    if lacking:
        said = ", ".join(str(each) for each in lacking)
        yield Found(False, f"The site's stream does not note the head after event {said}.")
    if noted and not wrong and not lacking:
        times = "once" if len(noted) == 1 else f"{len(noted)} times"
        yield Found(True, f"The site's stream noted the run's head {times}; all are as attached.")


def _noted_by_rule(sources: Sources) -> Iterator[int]:
    """Yield the last event of each act after which the site's stream notes how far the run came."""
    steps = {step.id: step for step in sources.released.steps}
    ends = {act[0].seq: act[-1].seq for act in sources.acts}
    last_of = {each.seq: ends[act[0].seq] for act in sources.acts for each in act}
    for each in sources.events:
        step = steps.get(str(each.body.get("step", "")))
        hold_done = each.kind == "StepDone" and step is not None and kind_of(step).is_hold
        if hold_done or each.kind == "RunClosed":
            yield last_of[each.seq]


def log_sentences(log: bytes, sources: Sources, record_sha256: str) -> Iterator[Found]:
    """Yield what holds of a record beside the site's whole log, as it was exported."""
    lines = [line for line in log.split(b"\n") if line]
    broken = stream_break(SITE, [(line, digest(line)) for line in lines])
    if broken is not None or not lines:
        what = broken.what if broken is not None else "it is empty."
        yield Found(False, f"The site's log does not hold: {what}")
        return
    events = events_of(log)
    yield from _in_log(events, sources)
    yield from _sealed(events, sources, record_sha256)


def _in_log(events: Sequence[Stored], sources: Sources) -> Iterator[Found]:
    hashes = {each.seq: each.hash for each in events}
    strange = [each.seq for each in sources.site_events if hashes.get(each.seq) != each.hash]
    run = sources.events[0].body.get("run")
    attached = {each.seq for each in sources.site_events}
    heads = [e for e in events if e.kind == "HeadNoted" and e.body.get("run") == run]
    left_out = [each.seq for each in heads if each.seq not in attached]
    if strange:
        yield Found(False, f"The site's log has no such site event {_listed(strange)}.")
    if left_out:
        yield Found(
            False,
            f"The site's log noted heads of this run that the record leaves out: site event "
            f"{_listed(left_out)}.",
        )
    if not strange and not left_out:
        yield Found(
            True,
            f"All {len(sources.site_events)} attached events of the site's stream stand in the "
            f"site's log of {len(events)} events, whose chain holds.",
        )


def _sealed(events: Sequence[Stored], sources: Sources, record_sha256: str) -> Iterator[Found]:
    run = sources.events[0].body.get("run")
    told = [e for e in events if e.kind == "RunSealed" and e.body.get("run") == run]
    if not told:
        yield Found(False, "The site's log does not tell that a record of this run was sealed.")
    elif told[-1].body.get("sha256") != record_sha256:
        sealed = str(told[-1].body.get("sha256"))[:16]
        yield Found(False, f"The site's log knows another file as this record: SHA-256 {sealed}….")
    else:
        yield Found(
            True,
            f"The site's log announced this very file on {told[-1].at:%Y-%m-%d}, site event "
            f"{told[-1].seq}.",
        )


def _listed(numbers: Sequence[int]) -> str:
    return ", ".join(str(each) for each in numbers)
