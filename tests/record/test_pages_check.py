"""Pages that say something else than the events: sealed by the site's own key, and found."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from app.ledger.canonical import digest
from app.record.attached import contents_of
from app.record.making import attached_files
from app.record.page_text import page_texts
from app.record.pages_check import difference
from app.record.printing import Job
from app.record.seal import seal
from app.record.sources import lines_of
from app.record.verify import verify
from tests.record.forging import chained, envelopes
from tests.record.played import RUN, a_photo

if TYPE_CHECKING:
    from app.record.document import Document
    from app.record.keys import SiteKeys
    from app.record.pdf import Renderer
    from app.record.sources import Sources
    from tests.record.conftest import Sealed


def sealed_with(document: Document, sources: Sources, keys: SiteKeys, renderer: Renderer) -> bytes:
    """Return a record whose pages tell of a document, and whose files are these."""
    files = attached_files(sources, keys.certificates_pem)
    return seal(renderer.render(Job(document, files)).pdf, keys, record=RUN)


def test_the_text_of_the_pages_is_read_without_another_program(sealed: Sealed) -> None:
    pages = page_texts(contents_of(sealed.pdf))

    assert len(pages) == 9
    assert "All8stepsaredoneandtherunisclosed." in pages[0].text
    assert "�" not in "".join(page.text for page in pages)
    assert all(page.strangers == 0 for page in pages)
    assert difference(pages, sealed.sources.document(sealed.keys.fingerprint)) == ""


def test_a_value_on_the_page_that_no_event_has_is_found_with_its_page(
    sealed: Sealed, keys: SiteKeys, renderer: Renderer
) -> None:
    true = sealed.sources.document(keys.fingerprint)
    acts = tuple(replace(act, sentence=act.sentence.replace("48.5", "38.5")) for act in true.acts)

    report = verify(
        sealed_with(replace(true, acts=acts), sealed.sources, keys, renderer), keys.fingerprint
    )

    assert report.exit_code == 1
    told = [s for s in report.sentences if s.startswith("Page ")]
    assert len(told) == 1
    assert "says “38.5" in told[0]
    assert "the events make it “48.5" in told[0]


@pytest.mark.parametrize("what", ["verdict", "first", "people", "questions", "anchors"])
def test_anything_changed_on_the_pages_is_a_difference(sealed: Sealed, what: str) -> None:
    pages = page_texts(contents_of(sealed.pdf))
    true = sealed.sources.document(sealed.keys.fingerprint)
    other = {
        "verdict": lambda: replace(true, verdict=true.verdict.replace("8", "7")),
        "first": lambda: replace(true, first=true.first[1:]),
        "people": lambda: replace(true, people=true.people[:-1]),
        "anchors": lambda: replace(true, anchors=true.anchors[1:]),
        "questions": lambda: replace(true, questions=(*true.questions, "Was it so?")),
    }[what]()

    found = difference(pages, other)

    assert found.startswith("Page ")
    if what == "verdict":
        assert "says “8stepsaredone" in found
        assert "the events make it “7stepsaredone" in found


def test_a_page_too_many_or_too_few_is_a_difference(sealed: Sealed) -> None:
    pages = page_texts(contents_of(sealed.pdf))
    document = sealed.sources.document(sealed.keys.fingerprint)

    assert difference(pages[:-1], document).startswith("Page 1 does not bear its running lines")
    assert difference((*pages, pages[-1]), document) != ""


def test_a_procedure_never_released_is_told(
    sealed: Sealed, keys: SiteKeys, renderer: Renderer
) -> None:
    told = [e for e in envelopes(sealed.sources.site_events) if e["kind"] != "ProcedureReleased"]
    sources = replace(sealed.sources, site_events=chained(told))

    data = sealed_with(sources.document(keys.fingerprint), sources, keys, renderer)

    assert "The site's stream does not tell that this procedure was released." in str(verify(data))


def test_a_role_that_was_given_afterwards_is_found(sealed: Sealed) -> None:
    """LK was no supervisor; the site's stream, told otherwise, breaks what the log has."""
    told = envelopes(sealed.sources.site_events)
    added = next(e for e in told if e["body"].get("person") == "SH")
    added["body"]["roles"] = ["supervisor", "technician"]
    sources = replace(sealed.sources, site_events=chained(told))
    files = {
        each.name: each.content for each in attached_files(sources, sealed.keys.certificates_pem)
    }
    from app.record.site_check import log_sentences, site_sentences  # noqa: PLC0415

    alone = [f.sentence for f in site_sentences(files, sources, sealed.keys.fingerprint)]
    beside = [
        f.sentence for f in log_sentences(lines_of(sealed.run.site), sources, "") if not f.holds
    ]

    assert all("broken" not in sentence for sentence in alone)
    assert any(s.startswith("The site's log has no such site event 4, ") for s in beside)


def test_a_picture_that_no_entry_names_is_told(
    sealed: Sealed, keys: SiteKeys, renderer: Renderer
) -> None:
    sources = replace(sealed.sources, photos={"ee" * 32: a_photo()})

    data = sealed_with(sealed.sources.document(keys.fingerprint), sources, keys, renderer)

    assert "No entry of the run names the picture eeeeeeeeeeee." in str(verify(data))


def test_photos_are_compared_where_they_are_at_hand(sealed: Sealed) -> None:
    there, gone, other = (
        verify(sealed.pdf, photo=find)
        for find in (lambda _: a_photo(), lambda _: None, lambda _: b"another")
    )

    assert "All 1 photos are there, byte for byte as they were entered." in str(there)
    assert f"Photos that the run names are not there: {digest(a_photo())[:12]}." in str(gone)
    assert f"Photos are not those that were entered: {digest(a_photo())[:12]}." in str(other)


def test_an_event_of_a_kind_not_known_is_told_and_not_called_whole(
    sealed: Sealed, keys: SiteKeys, renderer: Renderer
) -> None:
    told = envelopes(sealed.sources.events)
    strange = {**told[10], "kind": "SkyCleared", "key": "key-sky", "body": {"of": "clouds"}}
    told[11:11] = [strange]
    from tests.record.forging import forged  # noqa: PLC0415

    sources = forged(sealed.sources, lambda e: e.insert(11, strange))
    data = sealed_with(sources.document(keys.fingerprint), sources, keys, renderer)

    report = verify(data, keys.fingerprint)

    assert report.exit_code == 2
    assert report.sentences[0] == "Record R-0001 could not be judged to its end by this version."
    assert (
        "Event 12 is of a kind that this version does not know, SkyCleared: it was not judged."
        in report.sentences
    )
