"""Why a tablet trusts the site's server: the site's own authority, installed on each tablet once.

Rules: made when the site is first served to tablets; kept in a folder of its own, the keys locked
with a passphrase that only the server's user can read. The server's certificate is made anew sixty
days before it ends, or when the site gets another name, and no tablet notices. Another authority has
to be installed on every tablet again, so it is only made when someone asks for it.
"""

from __future__ import annotations

import os
import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization

from app.desk import certificates
from app.desk.certificates import Key

FOLDER = "trust"
RENEWED_BEFORE = timedelta(days=60)
AUTHORITY, AUTHORITY_KEY = "authority.pem", "authority-key.pem"
SERVER, SERVER_KEY, PASSPHRASE = "server.pem", "server-key.pem", "passphrase"
NOT_CALLED = frozenset({"0.0.0.0", "::"})  # noqa: S104 - what is listened on, never a name


class NoTrust(Exception):  # noqa: N818 - a sentence for whoever types the command
    """The certificates cannot be had as asked; the message is for a person."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trust:
    """The certificates of a site, and where they lie."""

    folder: Path
    authority: x509.Certificate
    server: x509.Certificate

    @property
    def fingerprint(self) -> str:
        """Return the authority's SHA-256 in groups of four, to be compared with a printed sheet."""
        plain = self.authority.fingerprint(hashes.SHA256()).hex().upper()
        return " ".join(plain[at : at + 4] for at in range(0, len(plain), 4))

    @property
    def names(self) -> tuple[str, ...]:
        """Return the names under which the server is trusted."""
        return tuple(sorted(certificates.names_of(self.server)))

    @property
    def der(self) -> bytes:
        """Return the authority's certificate as tablets install it."""
        return self.authority.public_bytes(serialization.Encoding.DER)

    @property
    def chain(self) -> Path:
        """Return the file that the server shows."""
        return self.folder / SERVER

    @property
    def key(self) -> Path:
        """Return the file of the server's key."""
        return self.folder / SERVER_KEY

    @property
    def passphrase(self) -> str:
        """Return what opens the keys."""
        return (self.folder / PASSPHRASE).read_text()

    def ends_in(self, now: datetime) -> timedelta:
        """Return for how long the server's certificate is still good."""
        return self.server.not_valid_after_utc - now

    def warning(self, now: datetime) -> str:
        """Return what whoever keeps the server must be told now, "" when nothing."""
        left = min(self.ends_in(now), self.authority.not_valid_after_utc - now)
        if left > RENEWED_BEFORE:
            return ""
        days = max(0, left // timedelta(days=1))
        return (
            f"The certificates of this site end in {days} days; then no tablet speaks to it. "
            "Make them anew: mirrorwright trust renew."
        )


def open_trust(site_folder: Path) -> Trust | None:
    """Return the certificates of a site, None if it has none yet."""
    folder = site_folder / FOLDER
    if not (folder / SERVER).is_file():
        return None
    authority = x509.load_pem_x509_certificate((folder / AUTHORITY).read_bytes())
    server = x509.load_pem_x509_certificates((folder / SERVER).read_bytes())[0]
    return Trust(folder=folder, authority=authority, server=server)


def trusted(site_folder: Path, site: str, names: Sequence[str], now: datetime) -> Trust:
    """Return certificates that are good for these names for sixty days more; make what is missing.

    Raises:
        NoTrust: the authority may not certify one of the names, or its key is not here.
    """
    asked = called(names)
    known = open_trust(site_folder)
    if known is None:
        return _made(site_folder / FOLDER, site, asked, now)
    enough = known.ends_in(now) > RENEWED_BEFORE
    if enough and set(asked) <= certificates.names_of(known.server):
        return known
    return renewed(known, site, (*known.names, *asked), now)


def renewed(known: Trust, site: str, names: Sequence[str], now: datetime) -> Trust:
    """Return a site's trust with a new certificate for its server; no tablet notices.

    Raises:
        NoTrust: the authority may not certify one of the names, or its key is not here.
    """
    asked = tuple(dict.fromkeys(called(names)))
    outside = [each for each in asked if not certificates.may_certify(known.authority, each)]
    if outside:
        raise NoTrust(
            f"The site's authority was not made for {', '.join(outside)}. Make another with "
            "`mirrorwright trust renew --authority`, and enrol each tablet again."
        )
    locked = known.folder / AUTHORITY_KEY
    if not locked.is_file():
        raise NoTrust(f"{locked} is not here. Put it back from where it is kept, then renew.")
    _write_server(
        known.folder, site, asked, now, known.authority, _unlock(locked, known.passphrase)
    )
    fresh = open_trust(known.folder.parent)
    if fresh is None:
        raise NoTrust(f"{known.folder} cannot be read.")
    return fresh


def made_anew(site_folder: Path, site: str, names: Sequence[str], now: datetime) -> Trust:
    """Make another authority. The one before is kept beside it; every tablet is enrolled again."""
    folder = site_folder / FOLDER
    if folder.exists():
        folder.rename(folder.with_name(f"{FOLDER}-until-{now:%Y%m%dT%H%M%SZ}"))
    return _made(folder, site, called(names), now)


def called(names: Sequence[str]) -> tuple[str, ...]:
    """Return the names by which a server is called, as a certificate writes them."""
    plain = (each.strip().strip("[]").lower() for each in names)
    return tuple(dict.fromkeys(each for each in plain if each and each not in NOT_CALLED))


def _made(folder: Path, site: str, names: Sequence[str], now: datetime) -> Trust:
    making = folder.with_name(f"{folder.name}.making-{secrets.token_hex(4)}")
    making.mkdir(mode=0o700, parents=True)
    passphrase, key = secrets.token_urlsafe(32), certificates.new_key()
    authority = certificates.authority(key, site, names, now)
    _write(making / PASSPHRASE, passphrase.encode())
    _write(making / AUTHORITY, authority.public_bytes(serialization.Encoding.PEM))
    _write(making / AUTHORITY_KEY, _locked(key, passphrase))
    _write_server(making, site, names, now, authority, key)
    making.rename(folder)
    fresh = open_trust(folder.parent)
    if fresh is None:
        raise NoTrust(f"{folder} cannot be read.")
    return fresh


def _write_server(  # noqa: PLR0913, PLR0917 - what a certificate rests on
    folder: Path,
    site: str,
    names: Sequence[str],
    now: datetime,
    authority: x509.Certificate,
    authority_key: Key,
) -> None:
    key = certificates.new_key()
    made = certificates.server(key, site, names, now, authority, authority_key)
    pem = serialization.Encoding.PEM
    locked = _locked(key, (folder / PASSPHRASE).read_text())
    _write(folder / SERVER_KEY, locked)
    _write(folder / SERVER, made.public_bytes(pem) + authority.public_bytes(pem))


def _locked(key: Key, passphrase: str) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.BestAvailableEncryption(passphrase.encode()),
    )


def _unlock(file: Path, passphrase: str) -> Key:
    key = serialization.load_pem_private_key(file.read_bytes(), passphrase.encode())
    if not isinstance(key, Key):
        raise NoTrust(f"{file} holds another sort of key.")
    return key


def _write(path: Path, content: bytes) -> None:
    """Write a file that only the server's user reads, whole or not at all."""
    beside = path.with_name(f"{path.name}.new")
    opened = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(opened, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    beside.rename(path)
