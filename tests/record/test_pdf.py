"""The printed record: read back by programs that are not ours."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from app.ledger.canonical import digest
from app.record.making import attached_files, make_record
from app.record.pdf import Renderer
from app.record.printing import Job, NotPrinted, page, print_record
from app.record.trouble import RecordTrouble
from tests.conftest import needs
from tests.record.a_run import an_eventful_run
from tests.record.played import HOIST_TOML, ROOT, SITE_TOML, a_photo

if TYPE_CHECKING:
    from pathlib import Path

    from tests.record.conftest import Sealed

OUR_FACES = ("AHN", "AHNX", "AHM", "AHMX", "IBM-Plex-Sans", "Signs")


def said_by(program: str, *arguments: str) -> str:
    """Return what an outside program says of a file; it must end well."""
    done = subprocess.run(
        [needs(program), *arguments], capture_output=True, text=True, check=False, timeout=60
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def text_of(file: Path) -> str:
    return re.sub(r"\s+", " ", said_by("pdftotext", "-layout", str(file), "-"))


def test_the_pages_tell_what_the_document_tells(file: Path, sealed: Sealed) -> None:
    text = text_of(file)

    for told in (
        "All 8 steps are done and the run is closed.",
        "Was 36.05 kN. Now 36.50 kN. Reason: Two digits changed",
        "The entries were not all equal: JB 0, AN 1, TW 0.",
        "Would not sign. Reason: A shadow at B02.",
        "Work stopped. A crane alarm sounds.",
        "35.5 to 37.5 kN",
        "Joaquin Belmarez",
        "Reviewed by Tomasz Wierzbin (TW), released by",
        "It is not a qualified electronic signature of that person.",
        "The makers claim no conformity with any standard by this seal.",
        "Page 1 of ",
    ):
        assert told in text, told
    head = sealed.run.events[-1].hash
    assert " ".join(re.findall("....", head)) in text


def test_the_verdict_comes_before_all_else_and_read_these_first_before_the_steps(
    file: Path,
) -> None:
    text = text_of(file)

    places = [
        text.index(words)
        for words in (
            "All 8 steps are done",
            "Read these first",
            "People in this record",
            "Say the day's work aloud, with everyone at the mirror.",
            "Every act, in its order",
            "What the seal is, and what it is not",
        )
    ]
    assert places == sorted(places)


def test_the_printer_has_nothing_to_complain_of(sealed: Sealed) -> None:
    assert sealed.printed.complaints == ()


def test_every_sign_of_the_trade_has_a_glyph_of_ours(renderer: Renderer, tmp_path: Path) -> None:
    document = replace(
        an_eventful_run().document(), purpose="Ω ≤ ≥ ≠ → µ μ ° ± Δ ² ³ √ ∑ Łódź ğüşiö Ελλάς Ж"
    )
    file = tmp_path / "signs.pdf"
    file.write_bytes(renderer.render(Job(document, ())).pdf)

    faces = faces_of(file)

    assert [face for face in faces if not face.startswith(OUR_FACES)] == []
    assert any(face.startswith(("IBM-Plex-Sans", "Signs")) for face in faces)
    assert "Ω ≤ ≥ ≠ → µ" in text_of(file)


def test_only_our_faces_are_in_the_record(file: Path) -> None:
    assert [face for face in faces_of(file) if not face.startswith(OUR_FACES)] == []


def faces_of(file: Path) -> list[str]:
    rows = said_by("pdffonts", str(file)).splitlines()[2:]
    assert rows, "no face is listed"
    assert all(row.split()[-5:-2] == ["yes", "yes", "yes"] for row in rows), rows
    return [row.split()[0].partition("+")[2] for row in rows]


def test_the_form_of_the_file_is_sound(file: Path) -> None:
    assert "No syntax or stream encoding errors found" in said_by("qpdf", "--check", str(file))


def test_the_attachments_come_out_byte_for_byte(file: Path, sealed: Sealed, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    said_by("pdfdetach", "-saveall", "-o", str(tmp_path / "out"), str(file))

    found = {path.name: path.read_bytes() for path in (tmp_path / "out").iterdir()}
    assert found == {
        "events.jsonl": b"".join(event.canonical + b"\n" for event in sealed.run.events),
        "procedure.toml": HOIST_TOML,
        "certificates.pem": sealed.keys.certificates_pem,
        "site.toml": SITE_TOML,
        "site-events.jsonl": b"".join(event.canonical + b"\n" for event in sealed.run.site),
        f"photo-{digest(a_photo())}.jpg": a_photo(),
    }


def test_the_file_says_that_it_is_archival_and_accessible(sealed: Sealed) -> None:
    for mark in (
        b'pdfaid:part="3"',
        b'pdfaid:conformance="A"',
        b"<pdfuaid:part>1</pdfuaid:part>",
    ):
        assert mark in sealed.pdf


def test_the_same_record_is_printed_the_same(sealed: Sealed) -> None:
    files = attached_files(sealed.sources, sealed.keys.certificates_pem)
    job = Job(sealed.sources.document(sealed.keys.fingerprint), files)
    fresh = Renderer()

    again = fresh.render(job)
    fresh.close()

    assert again.pdf == sealed.printed.pdf


def test_what_people_typed_cannot_become_markup() -> None:
    document = replace(an_eventful_run().document(), purpose="<img src=x><script>1</script>")

    assert "&lt;img src=x&gt;&lt;script&gt;" in page(document)


def test_a_run_that_is_not_closed_is_not_sealed(sealed: Sealed, renderer: Renderer) -> None:
    sources = replace(sealed.sources, events=sealed.sources.events[:-1])

    with pytest.raises(RecordTrouble, match="The run is not closed"):
        make_record(sources, sealed.keys, renderer=renderer)


def test_a_record_whose_texts_do_not_load_is_not_sealed(sealed: Sealed, renderer: Renderer) -> None:
    sources = replace(sealed.sources, procedure=b"format = 1")

    with pytest.raises(RecordTrouble, match=r"procedure\.toml does not load"):
        make_record(sources, sealed.keys, renderer=renderer)


def test_a_printer_that_takes_too_long_is_replaced(sealed: Sealed) -> None:
    job = Job(sealed.sources.document(ROOT), ())
    room = Renderer()
    room._limit_s = 0.001

    with pytest.raises(RecordTrouble, match=r"not printed within 0\.001 s"):
        room.render(job)
    room._limit_s = 60
    printed = room.render(job)
    room.close()

    assert printed.pdf.startswith(b"%PDF-")


def test_a_printer_that_dies_is_told_and_replaced(sealed: Sealed) -> None:
    room = Renderer()
    nothing_to_print = Job(None, ())  # type: ignore[arg-type]

    with pytest.raises(RecordTrouble, match="the printing process ended"):
        room.render(nothing_to_print)
    printed = room.render(Job(sealed.sources.document(ROOT), ()))
    room.close()

    assert printed.pdf.startswith(b"%PDF-")


def test_a_server_without_pango_is_told_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, sealed: Sealed
) -> None:
    (tmp_path / "weasyprint.py").write_text(
        "raise OSError(\"cannot load library 'libgobject-2.0-0'\\nand more\")"
    )
    monkeypatch.syspath_prepend(str(tmp_path))
    monkeypatch.delitem(sys.modules, "weasyprint", raising=False)
    job = Job(sealed.sources.document(ROOT), ())
    room = Renderer()

    here = print_record(job)
    with pytest.raises(RecordTrouble) as told:
        room.render(job)
    room.close()

    assert isinstance(here, NotPrinted)
    assert told.value.sentence == here.sentence
    assert "libpangoft2-1.0-0" in here.sentence
    assert here.sentence.endswith("The system says: cannot load library 'libgobject-2.0-0'")


def test_the_printer_gives_way_to_the_bench(sealed: Sealed) -> None:
    room = Renderer()
    room.warm()
    room.render(Job(sealed.sources.document(ROOT), ()))
    assert room._child is not None
    assert room._child.pid is not None

    niceness = os.getpriority(os.PRIO_PROCESS, room._child.pid)
    room.close()

    assert niceness >= 10
