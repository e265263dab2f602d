"""The release desk: three people bring a text to its release; the crew reads; runs stay or stop."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from pathlib import Path

import pytest

from app.desk.desk import Desk, Done
from app.desk.release_desk import Brought, By
from app.ledger.stored import SITE as SITE_STREAM
from app.proof.releasing import Book, Text
from app.record.verify import verify
from app.run.commands import Abandon, ChangeSteps, Enter, ReportTrouble, Sign, StopWork
from app.run.crew import Person
from app.run.refusal import Refusal
from tests.desk.conftest import SECRETS, Clock
from tests.run.stage import PEOPLE, SITE, TEXT

FIRST = TEXT.replace(
    "crew = { technician = 3, supervisor = 1 }",
    "crew = { technician = 3, supervisor = 1, lead = 1 }",
)
MAJOR = FIRST.replace("revision = 1", "revision = 2").replace('at_most = "9.0"', 'at_most = "8.0"')
MINOR = FIRST.replace("revision = 1", "revision = 2").replace("To try the rules.", "To try all.")
TWO_LEADS = {**PEOPLE, "ED": frozenset({"lead"})}
KEYS = iter(f"key-{number}" for number in range(10_000))


@pytest.fixture
def folder(tmp_path: Path, clock: Clock) -> Path:
    place = tmp_path / "site"
    Desk.found(
        place,
        SITE.encode(),
        [(Person(id=k, name=k, roles=r), secret_of(k)) for k, r in TWO_LEADS.items()],
        {"QP-9.toml": FIRST.encode()},
        reviewer="SL",
        releaser="HL",
        clock=clock,
    )
    return place


@pytest.fixture
def desk(folder: Path, clock: Clock) -> Iterator[Desk]:
    opened = Desk.open(folder, clock=clock)
    yield opened
    opened.close()


def secret_of(person: str) -> str:
    return SECRETS.get(person, f"{person.lower()}-tells-nobody")


def by(person: str) -> By:
    return By(person=person, device="t1", key=next(KEYS))


def bring(desk: Desk, text: str, author: str = "AB") -> Brought:
    return asyncio.run(desk.release_desk.bring(text.encode(), "QP-9.toml", by(author)))


def draft(desk: Desk) -> Text:
    book = desk.release_desk.book("QP-9")
    assert book is not None
    assert book.draft is not None
    return book.draft


def review(desk: Desk, person: str = "SL") -> Book | Refusal:
    return asyncio.run(desk.release_desk.review("QP-9", draft(desk).sha256, "", by(person)))


def release(desk: Desk, person: str = "HL") -> Book | Refusal:
    return asyncio.run(desk.release_desk.release("QP-9", draft(desk).sha256, by(person)))


def released(desk: Desk, text: str = MAJOR) -> Book:
    assert bring(desk, text).refusal is None
    assert isinstance(review(desk), Book)
    book = release(desk)
    assert isinstance(book, Book), book
    return book


def withdraw(desk: Desk, person: str = "HL", reason: str = "The limit is wrong.") -> Book | Refusal:
    return asyncio.run(desk.release_desk.withdraw("QP-9", reason, by(person)))


def acknowledge(desk: Desk, person: str) -> Book | Refusal:
    return asyncio.run(desk.release_desk.acknowledge("QP-9", by(person)))


def opened(desk: Desk, person: str = "SL") -> Done | Refusal:
    return asyncio.run(
        desk.open_run("QP-9", by=person, secret=secret_of(person), key=next(KEYS), device="t1")
    )


def sign(desk: Desk, command: Enter | Sign) -> Done | Refusal:
    secret = secret_of(command.by)
    return asyncio.run(desk.sign_act("R-0001", command, secret=secret, key=next(KEYS), device="t1"))


def code(answer: object) -> str:
    assert isinstance(answer, Refusal), answer
    return answer.code


def site_events(desk: Desk) -> list[str]:
    return [e.kind for e in desk.ledger.read(SITE_STREAM) if e.kind.startswith("Procedure")]


def brief(person: str) -> Enter:
    return Enter(by=person, step="brief", part=person, seen=99)


# -- the way to a release


def test_three_people_bring_a_text_to_its_release_and_the_old_one_is_superseded(desk: Desk) -> None:
    book = released(desk)

    first, second = book.texts
    assert (book.state(first), book.state(second)) == ("superseded", "released")
    assert (second.author, second.weight) == ("AB", "major")
    assert second.reviewed is not None
    assert (second.reviewed.by, second.released and second.released.by) == ("SL", "HL")
    assert [(each.revision, each.released_by) for each in desk.released()] == [(2, "HL")]
    assert site_events(desk) == [
        "ProcedureReleased",
        "ProcedureDrafted",
        "ProcedureReviewed",
        "ProcedureReleased",
    ]
    assert desk.ledger.text(second.sha256) == MAJOR.encode()


def test_everything_is_found_again_after_a_restart(desk: Desk, folder: Path, clock: Clock) -> None:
    released(desk)
    withdraw(desk)
    before = desk.release_desk.books()
    desk.close()

    again = Desk.open(folder, clock=clock)

    assert again.release_desk.books() == before
    assert again.released() == ()
    again.close()


def test_nobody_reviews_or_releases_their_own(desk: Desk) -> None:
    bring(desk, MAJOR, author="HL")

    assert code(review(desk, "HL")) == "release.author"
    assert isinstance(review(desk, "SL"), Book)
    refused = release(desk, "HL")

    assert isinstance(refused, Refusal)
    assert refused.sentence == (
        "HL wrote this text. Another person must release it. Nothing was saved."
    )
    assert site_events(desk)[-1] == "ProcedureReviewed"
    assert isinstance(release(desk, "ED"), Book)


def test_whoever_reviewed_a_text_does_not_release_it(desk: Desk) -> None:
    bring(desk, MAJOR)
    review(desk, "HL")

    assert code(release(desk, "HL")) == "release.same_person"


@pytest.mark.parametrize("person", ["AB", "SL", "AU", "XX"])
def test_only_a_lead_releases(desk: Desk, person: str) -> None:
    bring(desk, MAJOR, author="KM")
    review(desk, "SL")

    assert code(release(desk, person)) == "release.role"
    assert [each.revision for each in desk.released()] == [1]


@pytest.mark.parametrize("person", ["AB", "AU", "XX"])
def test_only_who_may_release_holds_reviews(desk: Desk, person: str) -> None:
    bring(desk, MAJOR, author="KM")

    assert code(review(desk, person)) == "release.role"


def test_a_text_that_nobody_reviewed_is_not_released(desk: Desk) -> None:
    bring(desk, MAJOR)

    assert code(release(desk)) == "release.unreviewed"


@pytest.mark.parametrize(
    "faulty",
    [
        MAJOR.replace(
            'starts = ["A", "B", "C"]\nconfirms = { brackets = 0 }', 'starts = ["A", "B", "C"]'
        ).replace(
            'at_mirror = true\nsign = ["technician", "lead"]\nconfirms = { brackets = 0 }',
            'at_mirror = true\nsign = ["technician", "lead"]',
        ),
        MAJOR.replace('back_out = "Lower to the supports."', ""),
        MAJOR.replace('kind = "items"', 'kind = "itmes"'),
    ],
    ids=["the proof", "the rules of the trade", "the form"],
)
def test_a_text_with_a_fault_is_taken_as_a_draft_and_not_released(desk: Desk, faulty: str) -> None:
    assert bring(desk, faulty).refusal is None
    review(desk)

    answer = release(desk)

    assert code(answer) == "release.faults"
    assert [each.revision for each in desk.released()] == [1]


def test_another_text_of_the_same_revision_is_refused_with_the_difference(desk: Desk) -> None:
    other = FIRST.replace('at_most = "9.0"', 'at_most = "12.0"')

    brought = bring(desk, other)

    assert brought.refusal is not None
    assert brought.refusal.code == "release.same_revision"
    assert brought.refusal.sentence == (
        "QP-9 revision 1 is released, and this text is another one. Write revision = 2. "
        "Nothing was saved."
    )
    assert '-at_most = "9.0"' in brought.difference
    assert '+at_most = "12.0"' in brought.difference
    assert site_events(desk) == ["ProcedureReleased"]


@pytest.mark.parametrize(
    ("text", "author", "code_"),
    [
        (FIRST, "AB", "release.known"),
        (FIRST.replace("revision = 1", "revision = 3"), "AB", "release.revision"),
        (MAJOR.replace('"QP-9"', '"QP 9/../x"'), "AB", "release.id"),
        ("this is not TOML", "AB", "release.unreadable"),
        ("#" * 300_000, "AB", "release.unreadable"),
        (MAJOR, "AU", "release.role"),
    ],
)
def test_a_text_is_not_taken(desk: Desk, text: str, author: str, code_: str) -> None:
    brought = bring(desk, text, author)

    assert brought.refusal is not None
    assert brought.refusal.code == code_
    assert site_events(desk) == ["ProcedureReleased"]


def test_a_newer_draft_takes_the_place_of_the_one_that_was_reviewed(desk: Desk) -> None:
    bring(desk, MAJOR)
    old = draft(desk).sha256
    review(desk)
    bring(desk, MINOR)

    answer = asyncio.run(desk.release_desk.release("QP-9", old, by("HL")))

    assert code(answer) == "release.changed"
    assert code(release(desk)) == "release.unreviewed"


def test_a_press_sent_twice_counts_once(desk: Desk) -> None:
    press = by("AB")
    asked = [
        asyncio.run(desk.release_desk.bring(MAJOR.encode(), "QP-9.toml", press)) for _ in range(2)
    ]

    assert [each.refusal for each in asked] == [None, None]
    assert site_events(desk).count("ProcedureDrafted") == 1


# -- reading what changed


def test_nobody_acts_in_a_run_of_a_major_change_that_they_have_not_read(desk: Desk) -> None:
    released(desk)
    unread = opened(desk)
    assert code(unread) == "release.acknowledge"
    acknowledge(desk, "SL")
    assert isinstance(opened(desk), Done)

    refused = sign(desk, brief("AB"))

    assert isinstance(refused, Refusal)
    assert refused.sentence == (
        "QP-9 was changed in revision 2, and AB has not acknowledged it. Read what changed, then "
        "sign it. Nothing was saved."
    )
    assert refused.where == "Procedures, QP-9, Acknowledge"
    assert isinstance(acknowledge(desk, "AB"), Book)
    assert isinstance(sign(desk, brief("AB")), Done)


def test_who_has_not_read_may_still_stop_work_and_say_what_is_wrong(desk: Desk) -> None:
    released(desk)
    acknowledge(desk, "SL")
    opened(desk)

    for command in (
        ReportTrouble(by="AB", step="wind", text="It is icing."),
        StopWork(by="AB"),
    ):
        answer = asyncio.run(desk.act("R-0001", command, key=next(KEYS), device="t1"))
        assert isinstance(answer, Done), answer


def test_a_minor_change_and_a_first_release_need_no_acknowledgement(desk: Desk) -> None:
    assert code(acknowledge(desk, "AB")) == "release.read"
    book = released(desk, MINOR)

    assert book.current is not None
    assert book.current.weight == "minor"
    assert isinstance(opened(desk), Done)
    assert isinstance(sign(desk, brief("AB")), Done)


def test_a_minor_change_does_not_wipe_out_a_major_one_unread(desk: Desk) -> None:
    released(desk, MAJOR)
    third = MAJOR.replace("revision = 2", "revision = 3").replace("To try the rules.", "To try.")
    released(desk, third)

    assert code(opened(desk)) == "release.acknowledge"
    acknowledge(desk, "SL")
    assert isinstance(opened(desk), Done)


# -- runs under a release that changes


def test_a_running_run_stays_with_its_text_when_another_is_released(desk: Desk) -> None:
    assert isinstance(opened(desk), Done)
    released(desk)

    seen = desk.run("R-0001")

    assert seen is not None
    assert seen.procedure.revision == 1
    assert isinstance(sign(desk, brief("AB")), Done)  # what they have read is their own revision


def test_a_withdrawn_procedure_opens_no_run_and_stops_those_that_go_on(desk: Desk) -> None:
    assert isinstance(opened(desk), Done)
    assert code(withdraw(desk, "SL")) == "release.role"
    assert code(withdraw(desk, reason=" ")) == "release.reason"

    assert isinstance(withdraw(desk), Book)

    assert code(withdraw(desk)) == "release.none"
    assert code(sign(desk, brief("AB"))) == "run.withdrawn"
    again = opened(desk, "HL")
    assert isinstance(again, Refusal)
    assert again.sentence == (
        "HL withdrew QP-9 revision 1: “The limit is wrong.” No run of it is opened."
    )


def test_a_withdrawn_procedure_is_released_again_as_the_next_revision(desk: Desk) -> None:
    withdraw(desk)

    released(desk, MAJOR)

    assert [each.revision for each in desk.released()] == [2]


# -- two decide


def together(
    desk: Desk, command: Abandon | ChangeSteps, *, second: str = "", text: bytes = b""
) -> Done | Refusal:
    secrets = (secret_of(command.by), second or secret_of(command.second))
    return asyncio.run(
        desk.decide_together("R-0001", command, secrets, key=next(KEYS), device="t1", text=text)
    )


def abandoning() -> Abandon:
    return Abandon(by="HL", second="SL", reason="Loose pad.", state="On the cell.", signed=False)


def changing() -> ChangeSteps:
    return ChangeSteps(
        by="HL",
        second="SL",
        reason="Thicker shims.",
        until="",
        until_step="gap",
        sha256="",
        signed=False,
    )


def test_a_run_is_abandoned_with_the_secrets_of_both_and_sealed_as_not_finished(desk: Desk) -> None:
    opened(desk)
    assert code(together(desk, abandoning(), second="not-the-secret")) == "pin.wrong"

    answer = together(desk, abandoning())
    sealed = asyncio.run(desk.seal("R-0001"))
    document = desk.document("R-0001")

    assert isinstance(answer, Done)
    assert sealed is not None
    assert document is not None
    assert document.verdict == "Not finished. This run was abandoned: 0 of 8 steps are done."
    assert [note.word for note in document.first][-1] == "Abandoned"
    assert {person.id: person.signatures for person in document.people} == {"SL": 1, "HL": 1}


def test_a_changed_limit_is_approved_proved_and_followed_by_this_run_alone(desk: Desk) -> None:
    opened(desk)
    seen = desk.run("R-0001")
    assert seen is not None
    lines = desk.change_desk.lines(seen.state, "gap")
    assert lines.splitlines()[1] == 'id = "gap"'
    text = desk.change_desk.with_lines(
        seen.state, [("gap", lines.replace('at_most = "2.0"', 'at_most = "2.4"'))]
    )

    answer = together(desk, changing(), text=text)

    assert isinstance(answer, Done), answer
    changed, pinned = answer.seen.procedure.step("gap"), desk.procedure(desk.released()[0])
    assert "2.4" in str(changed)
    assert "2.4" not in str(pinned.step("gap"))
    assert answer.seen.procedure.sha256 == pinned.sha256
    assert desk.ledger.text(answer.seen.state.changes[0].sha256) == text


def test_a_change_outlives_a_restart(desk: Desk, folder: Path, clock: Clock) -> None:
    opened(desk)
    text = FIRST.replace('at_most = "2.0"', 'at_most = "2.4"').encode()
    together(desk, changing(), text=text)
    before = desk.run("R-0001")
    desk.close()

    again = Desk.open(folder, clock=clock)
    after = again.run("R-0001")

    assert before is not None
    assert after is not None
    assert after.procedure.steps == before.procedure.steps
    again.close()


def test_a_change_that_the_proof_or_the_form_does_not_bear_is_refused(desk: Desk) -> None:
    opened(desk)
    unproved = FIRST.replace("confirms = { brackets = 0 }", "")
    unreadable = FIRST.replace('at_most = "2.0"', 'at_most = "2.0 kN"')

    for text in (unproved, unreadable):
        refused = together(desk, changing(), text=text.encode())
        assert code(refused) == "change.fault"
    seen = desk.run("R-0001")
    assert seen is not None
    assert seen.state.changes == ()


def test_a_change_is_not_approved_with_one_persons_secret(desk: Desk) -> None:
    opened(desk)
    text = FIRST.replace('at_most = "2.0"', 'at_most = "2.4"').encode()

    refused = together(desk, changing(), second=secret_of("HL"), text=text)

    assert code(refused) == "pin.wrong"


def test_the_record_of_a_changed_and_abandoned_run_is_whole_and_says_so(desk: Desk) -> None:
    opened(desk)
    text = FIRST.replace('at_most = "2.0"', 'at_most = "2.4"').encode()
    assert isinstance(together(desk, changing(), text=text), Done)
    assert isinstance(together(desk, abandoning()), Done)
    sealed = asyncio.run(desk.seal("R-0001"))
    document = desk.document("R-0001")
    assert sealed is not None
    assert document is not None

    report = verify(sealed.path.read_bytes(), sealed.root, now=desk.now())

    assert report.ok, report.sentences
    said = " ".join(report.sentences)
    assert "1 change was approved for this run; the attached texts are those approved." in said
    assert "The run was abandoned: its procedure was not finished." in said
    assert [note.word for note in document.first][-2:] == ["Changed", "Abandoned"]
