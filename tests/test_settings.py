"""A site is told where it lives by its environment; what cannot be used is said in a sentence."""

from __future__ import annotations

from pathlib import Path

import pytest

from app.settings import LOOPBACK, Settings, SettingsTrouble, data_folder, settings_from


def test_told_nothing_a_site_answers_this_machine_alone() -> None:
    assert settings_from({}) == Settings()
    assert Settings().host == "127.0.0.1"


def test_a_site_is_told_its_folder_address_and_names() -> None:
    told = settings_from(
        {
            "MIRRORWRIGHT_FOLDER": "/srv/quillmoor",
            "MIRRORWRIGHT_HOST": "0.0.0.0",
            "MIRRORWRIGHT_PORT": "80",
            "MIRRORWRIGHT_ALLOWED_HOSTS": "hall.quillmoor.example, 192.0.2.7",
        }
    )

    assert told.folder == Path("/srv/quillmoor")
    assert (told.host, told.port) == ("0.0.0.0", 80)
    assert told.allowed_hosts == (*LOOPBACK, "hall.quillmoor.example", "192.0.2.7")
    assert told.secure


def test_the_address_that_is_listened_on_is_a_name_of_the_site() -> None:
    assert settings_from({"MIRRORWRIGHT_HOST": "192.0.2.7"}).allowed_hosts[-1] == "192.0.2.7"


@pytest.mark.parametrize("typed", ["", "0", "65536", "-1", "80a", "٨٠", " 80"])
def test_a_port_that_is_none_is_told(typed: str) -> None:
    with pytest.raises(SettingsTrouble) as told:
        settings_from({"MIRRORWRIGHT_PORT": typed})

    assert str(told.value) == f"The port is {typed!r}. Give a whole number from 1 to 65535."


def test_the_data_folders_are_found_in_a_checkout() -> None:
    assert (data_folder("static") / "vendor/htmx.min.js").is_file()
