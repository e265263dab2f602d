"""The site's keys."""

from __future__ import annotations

import stat
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest
from cryptography import x509

from app.record.keys import SiteKeys
from app.record.trouble import RecordTrouble

if TYPE_CHECKING:
    from pathlib import Path

NOW = datetime(2026, 5, 6, tzinfo=UTC)


def test_keys_found_are_the_keys_opened_again(tmp_path: Path) -> None:
    found = SiteKeys.found(tmp_path / "keys", site="Quillmoor Observatory", now=NOW)

    opened = SiteKeys.open(tmp_path / "keys")

    assert opened.fingerprint == found.fingerprint
    assert opened.key_der() == found.key_der()


def test_nobody_else_can_read_keys_or_passphrase(tmp_path: Path) -> None:
    SiteKeys.found(tmp_path / "keys", site="Quillmoor Observatory", now=NOW)

    modes = {p.name: stat.S_IMODE(p.stat().st_mode) for p in (tmp_path / "keys").iterdir()}

    assert set(modes) == {
        "passphrase",
        "root.pem",
        "root-key.pem",
        "signing.pem",
        "signing-key.pem",
    }
    assert set(modes.values()) == {0o600}
    assert stat.S_IMODE((tmp_path / "keys").stat().st_mode) == 0o700


def test_no_key_lies_open_on_the_disk(tmp_path: Path) -> None:
    SiteKeys.found(tmp_path / "keys", site="Quillmoor Observatory", now=NOW)

    for name in ("root-key.pem", "signing-key.pem"):
        assert b"BEGIN ENCRYPTED PRIVATE KEY" in (tmp_path / "keys" / name).read_bytes()


def test_the_passphrase_can_lie_elsewhere(tmp_path: Path) -> None:
    elsewhere = tmp_path / "passphrase"
    SiteKeys.found(tmp_path / "keys", site="Quillmoor", now=NOW, passphrase_file=elsewhere)

    assert not (tmp_path / "keys" / "passphrase").exists()
    assert SiteKeys.open(tmp_path / "keys", passphrase_file=elsewhere).signer_name == (
        "Quillmoor recorder"
    )


def test_certificates_outlast_the_time_that_records_are_kept(tmp_path: Path) -> None:
    keys = SiteKeys.found(tmp_path / "keys", site="Quillmoor Observatory", now=NOW)

    assert keys.signing.not_valid_after_utc.year == 2051
    assert keys.root.not_valid_after_utc.year == 2056


def test_the_root_certifies_one_level_and_the_sealing_key_none(tmp_path: Path) -> None:
    keys = SiteKeys.found(tmp_path / "keys", site="Quillmoor Observatory", now=NOW)
    root = keys.root.extensions.get_extension_for_class(x509.BasicConstraints).value
    signing = keys.signing.extensions.get_extension_for_class(x509.BasicConstraints).value
    usage = keys.signing.extensions.get_extension_for_class(x509.KeyUsage).value

    assert (root.ca, root.path_length, signing.ca) == (True, 0, False)
    assert (usage.digital_signature, usage.content_commitment, usage.key_cert_sign) == (
        True,
        True,
        False,
    )


def test_sealing_goes_on_when_the_roots_key_is_in_a_safe(tmp_path: Path) -> None:
    SiteKeys.found(tmp_path / "keys", site="Quillmoor Observatory", now=NOW)
    (tmp_path / "keys" / "root-key.pem").unlink()

    assert SiteKeys.open(tmp_path / "keys").fingerprint


def test_keys_are_never_written_over(tmp_path: Path) -> None:
    found = SiteKeys.found(tmp_path / "keys", site="Quillmoor Observatory", now=NOW)

    with pytest.raises(RecordTrouble, match="Keys are never written over"):
        SiteKeys.found(tmp_path / "keys", site="Quillmoor Observatory", now=NOW)

    assert SiteKeys.open(tmp_path / "keys").fingerprint == found.fingerprint


def test_a_missing_key_is_named(tmp_path: Path) -> None:
    SiteKeys.found(tmp_path / "keys", site="Quillmoor Observatory", now=NOW)
    (tmp_path / "keys" / "signing-key.pem").unlink()

    with pytest.raises(RecordTrouble, match=r"signing-key\.pem: No such file") as told:
        SiteKeys.open(tmp_path / "keys")

    assert "records cannot be sealed without them" in told.value.sentence


@pytest.mark.parametrize("name", ["passphrase", "signing.pem", "signing-key.pem", "root.pem"])
def test_keys_that_do_not_fit_each_other_are_told_apart(tmp_path: Path, name: str) -> None:
    SiteKeys.found(tmp_path / "keys", site="Quillmoor Observatory", now=NOW)
    SiteKeys.found(tmp_path / "others", site="Quillmoor Observatory", now=NOW)
    (tmp_path / "keys" / name).write_bytes((tmp_path / "others" / name).read_bytes())

    with pytest.raises(RecordTrouble, match="do not fit each other"):
        SiteKeys.open(tmp_path / "keys")


def test_damaged_certificates_are_told_in_a_sentence(tmp_path: Path) -> None:
    SiteKeys.found(tmp_path / "keys", site="Quillmoor Observatory", now=NOW)
    (tmp_path / "keys" / "root.pem").write_bytes(b"")

    with pytest.raises(RecordTrouble, match="do not fit each other"):
        SiteKeys.open(tmp_path / "keys")
