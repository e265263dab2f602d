"""Who is who: every change is in the site's stream, and no secret ever is."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import replace

import pytest
from sqlalchemy import Connection, text
from sqlalchemy.exc import IntegrityError

from app.ledger.ledger import Transaction
from app.people.register import why_not_keeper
from app.run.crew import Crew, Person
from app.run.refusal import Refusal
from tests.people.conftest import NOON, SECRET, WRONG, House
from tests.people.site import QUILLMOOR


def test_adding_someone_is_an_event_of_the_site(house: House) -> None:
    house.add("JB", "technician", "safety")

    assert house.events() == [
        (
            "PersonAdded",
            {"person": "JB", "name": "Name JB", "roles": ["safety", "technician"]},
        )
    ]
    assert house.ledger.read("site")[0].by == "KP"
    assert house.register.people() == (
        Person(id="JB", name="Name JB", roles=frozenset({"technician", "safety"})),
    )


def test_an_id_is_never_given_twice_not_even_a_retired_one(house: House) -> None:
    house.add("JB")
    house.register.retire("JB", by="KP")

    again = house.register.add(Person(id="JB", name="Jo", roles=frozenset()), SECRET, by="KP")

    assert again == Refusal(
        code="people.taken",
        sentence="JB already stands for Name JB. Choose other letters.",
    )


@pytest.mark.parametrize("person", ["J", "jb", "JBKLM", "J1", "", "J B", "JB\n"])
def test_an_id_is_two_to_four_capital_letters(house: House, person: str) -> None:
    answer = house.register.add(Person(id=person, name="Jo", roles=frozenset()), SECRET, by="KP")

    assert isinstance(answer, Refusal)
    assert answer.code == "people.id"
    assert house.events() == []


@pytest.mark.parametrize("name", ["", "  ", "Jo\nBray", "Jo\ud800", "x" * 81])
def test_a_name_can_be_printed(house: House, name: str) -> None:
    answer = house.register.add(Person(id="JB", name=name, roles=frozenset()), SECRET, by="KP")

    assert isinstance(answer, Refusal)
    assert answer.code == "people.name"


def test_a_poor_secret_is_refused_and_nothing_is_saved(house: House) -> None:
    answer = house.register.add(Person(id="JB", name="Jo", roles=frozenset()), "12345678", by="KP")

    assert answer == Refusal(
        code="people.secret",
        sentence="The secret is among the first that anyone would try. Choose another. "
        "Nothing was saved.",
    )
    assert house.register.people() == ()


def test_the_crew_follows_each_change_at_once(house: House) -> None:
    house.add("JB", "technician")
    assert not house.register.crew(QUILLMOOR).may("JB", "release-hold")

    house.register.change_roles("JB", frozenset({"supervisor"}), by="KP")
    assert house.register.crew(QUILLMOOR).may("JB", "release-hold")

    house.register.retire("JB", by="KP")
    assert house.register.crew(QUILLMOOR).roles("JB") == frozenset()
    assert house.events()[1:] == [
        ("RolesChanged", {"person": "JB", "roles": ["supervisor"], "before": ["technician"]}),
        ("PersonRetired", {"person": "JB"}),
    ]


def test_the_crew_is_read_once_and_then_from_memory(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    house.add("JB")
    first = house.register.crew(QUILLMOOR)
    monkeypatch.setattr(house.ledger, "reader", None)  # any read would raise

    assert house.register.crew(QUILLMOOR) == first


def test_a_read_that_a_change_overtook_is_not_kept(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    house.add("JB", "technician")
    reader = house.ledger.reader

    @contextmanager
    def overtaken() -> Iterator[Connection]:
        monkeypatch.setattr(house.ledger, "reader", reader)
        with reader() as connection:
            yield connection
        house.register.change_roles("JB", frozenset({"supervisor"}), by="KP")

    monkeypatch.setattr(house.ledger, "reader", overtaken)
    assert house.register.crew(QUILLMOOR).roles("JB") == {"technician"}
    assert house.register.crew(QUILLMOOR).roles("JB") == {"supervisor"}


def test_a_retired_person_signs_nothing_more_and_stays_in_the_list(house: House) -> None:
    house.add("JB")

    house.register.retire("JB", by="KP")

    assert type(house.check()).__name__ == "Wrong"
    assert [(p.id, p.active) for p in house.register.people()] == [("JB", False)]
    assert isinstance(house.register.retire("JB", by="KP"), Refusal)


def test_the_database_refuses_to_remove_a_person(house: House) -> None:
    house.add("JB")

    def remove(tx: Transaction) -> None:
        tx.connection.execute(text("DELETE FROM people"))

    with pytest.raises(IntegrityError, match="retired, never removed"):
        house.ledger.submit(remove).result()


def test_nobody_known_by_that_id_is_a_refusal(house: House) -> None:
    for answer in (
        house.register.retire("ZZ", by="KP"),
        house.register.unlock("ZZ", by="KP"),
        house.register.change_roles("ZZ", frozenset({"lead"}), by="KP"),
        house.register.reset_secret("ZZ", SECRET, by="KP"),
    ):
        assert answer == Refusal(
            code="people.unknown",
            sentence="Nobody who works here signs as ZZ. Nothing was saved.",
        )


def test_a_new_secret_takes_the_place_of_the_old(house: House) -> None:
    house.add("JB")

    house.register.reset_secret("JB", "rain on the hall", by="KP")

    assert type(house.check(secret=SECRET)).__name__ == "Wrong"
    assert type(house.check(secret="rain on the hall")).__name__ == "Verified"
    assert house.events()[1] == ("SecretChanged", {"person": "JB"})


def test_people_survive_a_restart(house: House) -> None:
    house.add("JB", "lead")
    house.add("KM", "technician")
    before = house.register.people()

    house.restart()

    assert house.register.people() == before
    assert type(house.check("KM")).__name__ == "Verified"


def test_a_keeper_is_asked_for_by_the_name_of_the_role() -> None:
    people = {
        "JB": Person(id="JB", name="Jo", roles=frozenset({"technician"})),
        "KP": Person(id="KP", name="Kit", roles=frozenset({"keeper"})),
    }
    crew = Crew(people=people, abilities=QUILLMOOR.roles)

    assert why_not_keeper(crew, "KP") is None
    assert why_not_keeper(crew, "JB") == Refusal(
        code="people.keeper",
        sentence="Only a keeper changes who is who. JB does not hold that role.",
        who="keeper",
        where="at the desk",
    )


def test_many_changes_at_once_are_all_kept_and_all_seen(house: House) -> None:
    ids = [f"{a}{b}" for a in "ABCD" for b in "ABCD"]

    with ThreadPoolExecutor(8) as crowd:
        list(crowd.map(house.add, ids))

    assert [person.id for person in house.register.people()] == ids
    assert len(house.events()) == len(ids)


def test_no_secret_and_no_hash_is_in_an_event_a_log_or_the_files_in_clear(
    house: House, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG)
    house.add("JB")
    for _ in range(5):
        house.check(secret=WRONG)
    house.register.reset_secret("JB", "rain on the hall", by="KP")
    house.check(secret="rain on the hall")
    house.sessions.sign_on(None, "JB", "tablet 1")
    stream = b"".join(each.canonical for each in house.ledger.read("site"))
    house.close()
    kept = b"".join(path.read_bytes() for path in house.folder.rglob("*") if path.is_file())
    house.open()

    for secret in (SECRET, WRONG, "rain on the hall"):
        assert secret not in caplog.text
        assert secret.encode() not in stream + kept
    assert b"argon2" not in stream
    assert b"argon2" in kept  # else this test looked in the wrong place


def test_the_people_are_what_their_events_say(house: House) -> None:
    house.add("JB", "technician")
    house.add("KM", "lead")
    house.register.change_roles("JB", frozenset({"safety", "lead"}), by="KM")
    house.register.retire("KM", by="JB")

    told: dict[str, Person] = {}
    for each in house.ledger.read("site"):
        body, person = each.body, each.body["person"]
        if each.kind == "PersonAdded":
            told[person] = Person(id=person, name=body["name"], roles=frozenset(body["roles"]))
        elif each.kind == "RolesChanged":
            told[person] = replace(told[person], roles=frozenset(body["roles"]))
        elif each.kind == "PersonRetired":
            told[person] = replace(told[person], active=False)

    assert tuple(told.values()) == house.register.people()
    assert all(each.at >= NOON for each in house.ledger.read("site"))
