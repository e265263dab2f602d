"""What is done to a record, and what verifying says of it."""

from __future__ import annotations

import asyncio
import random
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from io import BytesIO
from typing import TYPE_CHECKING

import pytest
from pyhanko.pdf_utils import generic
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.pdf_utils.writer import BasePdfFileWriter, copy_into_new_writer

from app.ledger.canonical import canonical, digest
from app.ledger.stored import unseal
from app.record.attached import contents_of
from app.record.making import attached_files, make_record
from app.record.printing import Job
from app.record.seal import seal
from app.record.verify import Report, verify
from tests.record.a_run import a_quiet_run
from tests.record.played import HOIST_TOML, RUN, a_played_run

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.ledger.stored import Stored
    from app.record.keys import SiteKeys
    from app.record.pdf import Renderer
    from app.record.sources import Sources
    from tests.record.conftest import Sealed

Tampering = Callable[["Sealed"], bytes]


def flipped(data: bytes, at: int) -> bytes:
    return data[:at] + bytes([data[at] ^ 1]) + data[at + 1 :]


def stream_of(data: bytes, near: bytes) -> int:
    """Return a place inside the stream of the object that carries these bytes."""
    return data.index(b"stream", data.index(near)) + 30


def page_byte(sealed: Sealed) -> bytes:
    return flipped(sealed.pdf, sealed.pdf.index(b"stream\n") + 30)


def attachment_byte(sealed: Sealed) -> bytes:
    return flipped(sealed.pdf, stream_of(sealed.pdf, b"/EmbeddedFile"))


def metadata_byte(sealed: Sealed) -> bytes:
    return flipped(sealed.pdf, sealed.pdf.index(b"Take the last brackets off"))


def bytes_appended(sealed: Sealed) -> bytes:
    return sealed.pdf + b"\n% nothing to see\n"


def page_replaced(sealed: Sealed) -> bytes:
    writer = IncrementalPdfFileWriter(BytesIO(sealed.pdf))
    page = writer.root["/Pages"]["/Kids"][0].get_object()
    other = generic.StreamObject(stream_data=b"BT ET")
    page["/Contents"] = writer.add_object(other)
    writer.update_container(page)
    return written(writer)


def attachment_replaced(sealed: Sealed) -> bytes:
    writer = IncrementalPdfFileWriter(BytesIO(sealed.pdf))
    names = writer.root["/Names"]["/EmbeddedFiles"]["/Names"]
    for index in range(1, len(names), 2):
        spec = names[index]
        if str(spec["/UF"]) == "procedure.toml":
            other = generic.StreamObject(stream_data=b"format = 1\n")
            spec["/EF"]["/F"] = writer.add_object(other)
            writer.update_container(spec["/EF"])
    return written(writer)


def written(writer: BasePdfFileWriter) -> bytes:
    out = BytesIO()
    writer.write(out)  # type: ignore[no-untyped-call]
    return out.getvalue()


def seal_stripped(sealed: Sealed) -> bytes:
    writer = copy_into_new_writer(PdfFileReader(BytesIO(sealed.pdf)))
    del writer.root["/AcroForm"]
    return written(writer)


def cut_to_the_unsealed(sealed: Sealed) -> bytes:
    return sealed.printed.pdf


TAMPERINGS: dict[str, tuple[Tampering, str]] = {
    "one byte of a page": (page_byte, "The seal is broken: something in bytes 0 to "),
    "one byte of an attachment": (attachment_byte, "The seal is broken: something in bytes 0 to "),
    "one byte of the metadata": (metadata_byte, "The seal is broken: something in bytes 0 to "),
    "bytes appended": (bytes_appended, "were added after sealing."),
    "a page replaced by an update": (page_replaced, "were added after sealing."),
    "an attachment replaced by an update": (attachment_replaced, "were added after sealing."),
    "the seal taken off": (seal_stripped, "It bears no seal."),
    "cut to what was there before sealing": (cut_to_the_unsealed, "It bears no seal."),
}


def test_an_untouched_record_is_whole(sealed: Sealed) -> None:
    report = verify(sealed.pdf, sealed.keys.fingerprint)

    assert (report.ok, report.exit_code) == (True, 0)
    assert report.sentences == (
        "Record R-0001 is whole.",
        f"The seal covers all {len(sealed.pdf)} bytes of the file.",
        "Nothing changed since it was sealed by Quillmoor Observatory recorder.",
        "The root is the one asked for.",
        "The 57 events follow one another from the opening to the closing of the run, and end in "
        "the head that the pages name.",
        "The attached procedure is the one that was followed, QP-4 revision 5.",
        "The procedure was released by NA on 2026-05-06, site event 9, before the run was opened.",
        "The site's stream noted the run's head 2 times; all are as attached.",
        "All 38 acts were played again: each would have been taken, and comes to the very events "
        "that are attached.",
        "The text of all 9 pages is, character for character, what the attached events, procedure "
        "and site's file make of it.",
    )


def test_without_a_fingerprint_the_report_says_what_that_leaves_open(sealed: Sealed) -> None:
    report = verify(sealed.pdf)

    assert report.ok
    assert any(
        sentence.startswith("The root was taken from the file itself, so this says nothing yet")
        for sentence in report.sentences
    )
    assert sealed.keys.fingerprint[:4] in str(report)


def test_a_fingerprint_may_be_typed_in_groups(sealed: Sealed) -> None:
    digits = sealed.keys.fingerprint.upper()

    for between in (" ", ":", "\n"):
        assert verify(sealed.pdf, between.join(digits[i : i + 4] for i in range(0, 64, 4))).ok


def test_half_a_fingerprint_verifies_nothing(sealed: Sealed) -> None:
    report = verify(sealed.pdf, sealed.keys.fingerprint[:32])

    assert report == Report(
        False,
        2,
        (
            "The fingerprint given has 32 hexadecimal digits; a root's has 64. Nothing was "
            "verified.",
        ),
    )


@pytest.mark.parametrize("name", TAMPERINGS)
def test_tampering_is_caught_and_told(sealed: Sealed, name: str) -> None:
    tamper, sentence = TAMPERINGS[name]
    data = tamper(sealed)
    assert data != sealed.pdf

    for fingerprint in (sealed.keys.fingerprint, None):
        report = verify(data, fingerprint)

        assert (report.ok, report.exit_code) == (False, 1), report
        assert sentence in str(report)
        assert report.sentences[0] == "Record R-0001 is NOT whole."


def test_any_one_changed_byte_breaks_the_record(sealed: Sealed) -> None:
    draw = random.Random(20260506)

    for at in draw.sample(range(len(sealed.pdf)), 25):
        report = verify(flipped(sealed.pdf, at), sealed.keys.fingerprint)

        assert not report.ok, f"byte {at}"


def test_the_envelope_of_the_seal_holds_nothing_but_the_seal(sealed: Sealed) -> None:
    """No seal covers its own envelope: what could be hidden there is looked for."""
    _, first, end, _ = (int(at) for at in contents_of(sealed.pdf).seals[0].byte_range)
    envelope = bytes.fromhex(sealed.pdf[first + 1 : end - 1].decode())
    digest_at = envelope.index(bytes.fromhex("300d06096086480165030402010500")) + 12  # SHA-256
    padding, digests = end - 3, first + 1 + 2 * digest_at
    assert sealed.pdf[padding : end - 1] == b"00"

    for at in (padding, digests):
        report = verify(flipped(sealed.pdf, at), sealed.keys.fingerprint)

        assert "The envelope of the seal holds more than a seal, or was altered." in str(report)
        assert not report.ok


def test_a_stranger_of_the_same_name_is_caught_by_the_fingerprint(
    sealed: Sealed, other_keys: SiteKeys
) -> None:
    data = seal(sealed.printed.pdf, other_keys, record="R-0001")

    report = verify(data, sealed.keys.fingerprint)

    assert not report.ok
    assert "It is sealed under another root than the one asked for: " in str(report)


def resealed(
    events: Sequence[Stored],
    sources: Sources,
    keys: SiteKeys,
    renderer: Renderer,
    *,
    head: str = "",
) -> bytes:
    """Return a record that a stranger made from these events; its pages tell of the true ones."""
    document = replace(sources.document(keys.fingerprint), head=head or events[-1].hash)
    files = attached_files(replace(sources, events=tuple(events)), keys.certificates_pem)
    return seal(renderer.render(Job(document, files)).pdf, keys, record=RUN)


def changed(event: Stored, old: bytes, new: bytes) -> Stored:
    content = event.canonical.replace(old, new)
    assert content != event.canonical
    return unseal(content, digest(content))


def test_a_changed_event_breaks_the_chain_whoever_seals_it(
    sealed: Sealed, renderer: Renderer, other_keys: SiteKeys
) -> None:
    run = sealed.sources
    place = next(i for i, e in enumerate(run.events) if b"36.50" in e.canonical)
    events = [*run.events]
    events[place] = changed(events[place], b"36.50", b"36.60")

    report = verify(resealed(events, run, other_keys, renderer))

    assert f"The chain of events is broken: event {place + 2} does not follow event" in str(report)
    assert not report.ok


def test_the_last_event_changed_is_not_the_head_that_the_pages_name(
    sealed: Sealed, renderer: Renderer, other_keys: SiteKeys
) -> None:
    run = sealed.sources
    events = [*run.events[:-1], changed(run.events[-1], b"brackets 0", b"brackets 1")]

    report = verify(resealed(events, run, other_keys, renderer, head=run.events[-1].hash))

    assert "The last event is not the one whose hash the pages name as the head." in str(report)
    assert not report.ok


def test_events_that_changed_places_break_the_chain(
    sealed: Sealed, renderer: Renderer, other_keys: SiteKeys
) -> None:
    run = sealed.sources
    events = [*run.events]
    events[3], events[4] = events[4], events[3]

    report = verify(resealed(events, run, other_keys, renderer))

    assert "The chain of events is broken: expected event 4, found 5." in str(report)


def test_a_tail_that_was_cut_off_is_missed(
    sealed: Sealed, renderer: Renderer, other_keys: SiteKeys
) -> None:
    run = sealed.sources

    report = verify(resealed(run.events[:-1], run, other_keys, renderer))

    assert "The events do not end with the closing of the run: the tail is cut." in str(report)
    assert not report.ok


def test_a_cut_first_event_is_missed(
    sealed: Sealed, renderer: Renderer, other_keys: SiteKeys
) -> None:
    run = sealed.sources

    report = verify(resealed(run.events[1:], run, other_keys, renderer))

    assert "expected event 1, found 2." in str(report)
    assert "The events do not begin with the opening of run R-0001." in str(report)


def test_a_whole_chain_made_anew_is_caught_by_the_fingerprint_alone(
    renderer: Renderer, keys: SiteKeys, other_keys: SiteKeys
) -> None:
    data = make_record(
        a_played_run(other_keys.fingerprint).sources(), other_keys, renderer=renderer
    )

    assert verify(data).ok
    assert not verify(data, keys.fingerprint).ok


def test_another_procedure_is_not_the_one_that_was_followed(
    sealed: Sealed, renderer: Renderer, keys: SiteKeys
) -> None:
    other = replace(sealed.sources, procedure=HOIST_TOML + b"\n# afterwards\n")
    printed = renderer.render(
        Job(sealed.sources.document(keys.fingerprint), attached_files(other, keys.certificates_pem))
    )

    report = verify(seal(printed.pdf, keys, record=RUN), keys.fingerprint)

    assert "The attached procedure is not the one that was followed." in str(report)
    assert not report.ok


def test_events_not_in_canonical_form_are_told(
    sealed: Sealed, renderer: Renderer, keys: SiteKeys
) -> None:
    run = sealed.sources
    last = run.events[-1]
    spaced = last.canonical.replace(b'","', b'", "', 1)
    events = [*run.events[:-1], unseal(spaced, digest(spaced))]

    report = verify(resealed(events, run, keys, renderer), keys.fingerprint)

    assert f"event {last.seq} is not in canonical form." in str(report)
    assert not report.ok


def test_an_event_dated_back_is_told(sealed: Sealed, renderer: Renderer, keys: SiteKeys) -> None:
    run = sealed.sources
    last = run.events[-1]
    back = changed(last, b"2026-05-06", b"2026-05-05")

    report = verify(resealed([*run.events[:-1], back], run, keys, renderer), keys.fingerprint)

    assert "An event is dated before the one that it follows." in str(report)
    assert not report.ok


def test_two_seals_are_one_too_many(sealed: Sealed, other_keys: SiteKeys) -> None:
    twice = seal_named(sealed.printed.pdf, other_keys)

    report = verify(seal_named(twice, sealed.keys, field="RecordSeal"), sealed.keys.fingerprint)

    assert "It bears 2 seals; a record bears one." in str(report)
    assert not report.ok


def test_a_seal_of_another_name_is_told(sealed: Sealed) -> None:
    report = verify(seal_named(sealed.printed.pdf, sealed.keys), sealed.keys.fingerprint)

    assert "Its seal is named Other; that of a record is RecordSeal." in str(report)
    assert "Its seal does not forbid later changes, as that of a record does." in str(report)


def seal_named(pdf: bytes, keys: SiteKeys, field: str = "Other") -> bytes:
    """Return the file with an ordinary signature, which forbids nothing."""
    from pyhanko.sign import PdfSignatureMetadata, PdfSigner  # noqa: PLC0415
    from pyhanko.sign.fields import SigSeedSubFilter  # noqa: PLC0415

    from app.record.seal import KeepXmpWriter, _signer  # noqa: PLC0415

    meta = PdfSignatureMetadata(
        field_name=field, md_algorithm="sha256", subfilter=SigSeedSubFilter.PADES
    )
    out = BytesIO()
    PdfSigner(meta, signer=_signer(keys)).sign_pdf(KeepXmpWriter(BytesIO(pdf)), output=out)
    return out.getvalue()


def test_a_seal_out_of_date_is_told_with_its_dates(sealed: Sealed) -> None:
    later = datetime.now(UTC) + timedelta(days=26 * 365)

    report = verify(sealed.pdf, sealed.keys.fingerprint, now=later)

    assert "The certificate of the seal was in date from " in str(report)
    assert not report.ok


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", "This file is empty."),
        (b"junk" * 100, "This is not a PDF file, so it is no record."),
        (b"%PDF-", "This file cannot be read to its end"),
        (b"%PDF-1.7\n" + b"\x00\xff" * 500, "This file cannot be read to its end"),
    ],
)
def test_a_file_that_is_no_record_is_told_in_a_sentence(data: bytes, sentence: str) -> None:
    report = verify(data)

    assert (report.ok, report.exit_code) == (False, 2)
    assert report.sentences[0].startswith(sentence)


def test_a_record_cut_anywhere_is_told_in_a_sentence(sealed: Sealed) -> None:
    for cut in range(0, len(sealed.pdf), 9011):
        report = verify(sealed.pdf[:cut], sealed.keys.fingerprint)

        assert not report.ok
        assert all(sentence.endswith((".", ". ")) for sentence in report.sentences)


def test_another_pdf_is_no_record(renderer: Renderer) -> None:
    unsealed = renderer.render(Job(a_quiet_run().document(), ())).pdf
    plain = unsealed.replace(b"/runid", b"/other")

    report = verify(plain)

    assert report.exit_code == 1
    assert "It bears no seal." in str(report)
    assert "It has no attachment events.jsonl and no attachment procedure.toml" in str(report)


def test_verifying_inside_a_running_loop_is_our_own_mistake_not_the_files(sealed: Sealed) -> None:
    async def inside() -> None:
        verify(sealed.pdf)

    with pytest.raises(RuntimeError, match="call it from a thread"):
        asyncio.run(inside())


def test_the_attached_lines_are_the_canonical_bytes_of_their_events(sealed: Sealed) -> None:
    event = sealed.run.events[1]
    envelope = {
        "v": 1,
        "stream": event.stream,
        "seq": event.seq,
        "at": "2026-05-06T10:00:20.000000Z",
        "by": event.by,
        "device": event.device,
        "key": event.key,
        "kind": event.kind,
        "body": event.body,
        "prev": event.prev,
    }

    assert canonical(envelope) == event.canonical
