"""The certificates of a site, field by field, and what becomes of them as time passes.

Fields: Apple, "Requirements for trusted certificates in iOS 13 and macOS 10.15" (HT210176): keys of
2048 bits RSA or better, SHA-2, names in the subject's alternative names, use as a server named, at most
825 days. RFC 5280: 4.2.1.3 key usage, 4.2.1.6 alternative names, 4.2.1.9 basic constraints, 4.2.1.10 name
constraints (critical). No tablet of either maker has been asked: only the fields are checked here.
"""

from __future__ import annotations

import ipaddress
import stat
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError

from app.desk.trust import AUTHORITY_KEY, NoTrust, Trust, made_anew, open_trust, renewed, trusted

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
NAMES = ("127.0.0.1", "localhost", "[::1]", "run.quillmoor.home.arpa", "192.168.7.10")
DAY = timedelta(days=1)


@pytest.fixture
def trust(tmp_path: Path) -> Trust:
    return trusted(tmp_path, "Quillmoor Observatory", NAMES, NOON)


def test_the_servers_certificate_has_every_field_that_tablets_ask_for(trust: Trust) -> None:
    server = trust.server
    names = server.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    usage = server.extensions.get_extension_for_class(x509.KeyUsage)
    basic = server.extensions.get_extension_for_class(x509.BasicConstraints)

    assert names.get_values_for_type(x509.DNSName) == ["localhost", "run.quillmoor.home.arpa"]
    assert names.get_values_for_type(x509.IPAddress) == [
        ipaddress.ip_address(each) for each in ("127.0.0.1", "::1", "192.168.7.10")
    ]
    assert list(server.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value) == [
        ExtendedKeyUsageOID.SERVER_AUTH
    ]
    assert server.signature_hash_algorithm is not None
    assert server.signature_hash_algorithm.name == "sha256"
    key = server.public_key()
    assert isinstance(key, ec.EllipticCurvePublicKey)
    assert key.curve.name == "secp256r1"
    whole = server.not_valid_after_utc - server.not_valid_before_utc
    assert whole == 397 * DAY <= 825 * DAY
    assert server.not_valid_before_utc <= NOON
    assert (usage.critical, usage.value.digital_signature, usage.value.key_cert_sign) == (
        True, True, False,
    )  # fmt: skip
    assert (basic.critical, basic.value.ca) == (True, False)
    assert server.serial_number.bit_length() > 64
    assert server.issuer == trust.authority.subject
    server.verify_directly_issued_by(trust.authority)


def test_the_authority_may_certify_the_sites_own_names_and_no_other(trust: Trust) -> None:
    authority = trust.authority
    constraints = authority.extensions.get_extension_for_class(x509.NameConstraints)
    basic = authority.extensions.get_extension_for_class(x509.BasicConstraints)
    usage = authority.extensions.get_extension_for_class(x509.KeyUsage).value

    assert constraints.critical
    permitted = [str(each.value) for each in constraints.value.permitted_subtrees or ()]
    assert permitted == [
        "127.0.0.1/32", "localhost", "::1/128", "run.quillmoor.home.arpa", "192.168.7.10/32",
    ]  # fmt: skip
    assert (basic.critical, basic.value.ca, basic.value.path_length) == (True, True, 0)
    assert (usage.key_cert_sign, usage.crl_sign, usage.digital_signature) == (True, True, False)


def test_an_independent_check_of_the_path_takes_the_sites_name_and_no_other(trust: Trust) -> None:
    store = Store([trust.authority])

    def check(name: str) -> None:
        policy = PolicyBuilder().store(store).time(NOON)
        policy.build_server_verifier(x509.DNSName(name)).verify(trust.server, [])

    check("run.quillmoor.home.arpa")
    with pytest.raises(VerificationError):
        check("elsewhere.example")


def test_the_keys_are_locked_and_only_the_servers_user_reads_them(trust: Trust) -> None:
    for file in trust.folder.iterdir():
        assert stat.S_IMODE(file.stat().st_mode) == 0o600, file.name
    assert stat.S_IMODE(trust.folder.stat().st_mode) == 0o700
    for name in ("authority-key.pem", "server-key.pem"):
        assert b"ENCRYPTED" in (trust.folder / name).read_bytes()


def test_it_is_renewed_sixty_days_ahead_and_no_tablet_notices(trust: Trust, tmp_path: Path) -> None:
    def at(days: int) -> Trust:
        return trusted(tmp_path, "Quillmoor Observatory", NAMES, NOON + days * DAY)

    assert at(335).server == trust.server
    assert open_trust(tmp_path) == trust
    fresh = at(337)

    assert fresh.server != trust.server
    assert fresh.authority == trust.authority
    assert fresh.ends_in(NOON + 337 * DAY) > 390 * DAY


def test_whoever_keeps_the_server_is_warned_sixty_days_ahead(trust: Trust) -> None:
    assert trust.warning(NOON + 335 * DAY) == ""
    assert "end in 50 days" in trust.warning(NOON + 346 * DAY)


def test_a_name_outside_the_authority_needs_another_authority(trust: Trust, tmp_path: Path) -> None:
    with pytest.raises(NoTrust, match=r"was not made for other\.home\.arpa"):
        trusted(tmp_path, "Quillmoor Observatory", (*NAMES, "other.home.arpa"), NOON)
    assert open_trust(tmp_path) == trust

    another = made_anew(tmp_path, "Quillmoor Observatory", (*NAMES, "other.home.arpa"), NOON)

    assert another.authority != trust.authority
    assert "other.home.arpa" in another.names
    assert len(list(tmp_path.glob("trust-until-*"))) == 1


def test_without_the_authoritys_key_nothing_is_renewed_and_the_way_is_said(trust: Trust) -> None:
    (trust.folder / AUTHORITY_KEY).unlink()

    with pytest.raises(NoTrust, match="Put it back from where it is kept"):
        renewed(trust, "Quillmoor Observatory", NAMES, NOON)
