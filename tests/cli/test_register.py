"""The register of people, kept at the console."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest

from app.desk.desk import Desk
from tests.cli.conftest import Errand

pytestmark = pytest.mark.slow


def test_everyone_is_listed_with_their_roles(errand: Errand, demo_site: Path) -> None:
    told = errand("people", "list", "--folder", demo_site)

    assert told.code == 0
    assert "MD    Mirela Dumbravan: keeper, technician, vacuum" in told.said
    assert len(told.said) == 12


def test_a_person_is_added_with_a_secret_that_is_shown_once_and_is_theirs(
    errand: Errand, demo_site: Path
) -> None:
    told = errand(
        "people",
        "add",
        "OV",
        "Oriel Vantongeren",
        "technician",
        "--generate",
        "--folder",
        demo_site,
    )

    assert told.code == 0
    assert told.said[0] == "OV, Oriel Vantongeren: technician."
    secret = told.said[1].removeprefix("The secret of OV is ").partition(".")[0]
    desk = Desk.open(demo_site)
    try:
        assert asyncio.run(desk.why_not_own("OV", secret)) is None
        assert asyncio.run(desk.why_not_own("OV", secret + "x")) is not None
        (added,) = [e for e in desk.ledger.read("site") if e.body.get("person") == "OV"]
        assert (added.kind, added.by) == ("PersonAdded", "console")
        assert secret not in added.canonical.decode()
    finally:
        desk.close()


def test_a_role_that_the_site_does_not_have_is_not_given(errand: Errand, demo_site: Path) -> None:
    told = errand("people", "role", "JB", "wizard", "--folder", demo_site)

    assert told.code == 2
    assert told.complained[0].startswith("Quillmoor Observatory has no role wizard. ")
    assert (
        "JB    Joaquin Belmarez: technician" in errand("people", "list", "--folder", demo_site).said
    )


def test_an_id_is_never_given_twice(errand: Errand, demo_site: Path) -> None:
    told = errand(
        "people", "add", "JB", "Jorun Brask", "technician", "--generate", "--folder", demo_site
    )

    assert told.code == 1
    assert told.complained == ["JB already stands for Joaquin Belmarez. Choose other letters."]
    assert told.said == []  # and no secret is shown


def test_a_typed_secret_must_be_typed_twice_alike(
    errand: Errand, demo_site: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    typed = iter(["one secret of mine", "another secret"])
    monkeypatch.setattr("getpass.getpass", lambda _: next(typed))

    told = errand("people", "secret", "JB", "--folder", demo_site)

    assert told.code == 2
    assert told.complained == ["The two are not the same. Nothing was saved."]


def test_who_is_retired_is_listed_as_such(errand: Errand, demo_site: Path) -> None:
    told = errand("people", "retire", "YT", "--folder", demo_site)

    assert (told.code, told.said) == (0, ["YT, Yuki Tanamori: retired."])
    assert errand("people", "unlock", "YT", "--folder", demo_site).code == 1


def test_a_folder_without_a_site_is_told(errand: Errand, tmp_path: Path) -> None:
    told = errand("people", "list", "--folder", tmp_path / "none")

    assert told.code == 2
    assert told.complained[0].startswith(f"There is no site in {tmp_path / 'none'}.")
