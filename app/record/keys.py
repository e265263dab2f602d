"""The site's keys: a root, and under it the key that seals records.

Rules:
- the keys lie encrypted in their own folder, the passphrase in a file that only the server's user
  can read; neither goes into the database or its backups;
- the root's key is needed only to make another sealing certificate: once that is understood it can
  be moved to a safe, and sealing goes on without it;
- both certificates outlast the time that records are kept, so that a seal does not seem to expire.
"""

from __future__ import annotations

import os
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Self

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from app.record.trouble import RecordTrouble

ROOT_DAYS = 30 * 365
SIGNING_DAYS = 25 * 365
BACKDATED = timedelta(days=1)  # a verifier's clock may run behind ours
NAME_LENGTH = 40  # X.520 allows 64 characters for a name; ours adds a few words

Key = ec.EllipticCurvePrivateKey


@dataclass(frozen=True, slots=True)
class SiteKeys:
    """What sealing needs: two certificates and the sealing key."""

    root: x509.Certificate
    signing: x509.Certificate
    key: Key

    @classmethod
    def found(
        cls, folder: Path, *, site: str, now: datetime, passphrase_file: Path | None = None
    ) -> Self:
        """Make the keys of a new site in a folder that does not exist yet, and open them.

        Raises:
            RecordTrouble: the folder exists: keys are never written over.
        """
        if folder.exists():
            raise RecordTrouble(f"{folder} exists. Keys are never written over.")
        making = folder.with_name(f"{folder.name}.making-{secrets.token_hex(4)}")
        making.mkdir(mode=0o700, parents=True)
        passphrase = secrets.token_urlsafe(32)
        root_key, signing_key = (ec.generate_private_key(ec.SECP256R1()) for _ in range(2))
        root = _root(root_key, site, now)
        signing = _signing(signing_key, site, now, root, root_key)
        _write(making / "root.pem", _pem(root))
        _write(making / "signing.pem", _pem(signing))
        _write(making / "root-key.pem", _locked(root_key, passphrase))
        _write(making / "signing-key.pem", _locked(signing_key, passphrase))
        _write(passphrase_file or making / "passphrase", passphrase.encode())
        making.rename(folder)
        return cls.open(folder, passphrase_file=passphrase_file)

    @classmethod
    def open(cls, folder: Path, *, passphrase_file: Path | None = None) -> Self:
        """Open the keys of a site.

        Raises:
            RecordTrouble: a file is missing, or does not fit the others.
        """
        try:
            passphrase = (passphrase_file or folder / "passphrase").read_bytes()
            files = ("root.pem", "signing.pem", "signing-key.pem")
            root_pem, signing_pem, locked = ((folder / name).read_bytes() for name in files)
        except OSError as failure:
            raise RecordTrouble(
                f"The site's keys cannot be read: {failure.filename}: {failure.strerror}. Bring "
                "them back from where they are kept; records cannot be sealed without them."
            ) from failure
        try:
            root = x509.load_pem_x509_certificate(root_pem)
            signing = x509.load_pem_x509_certificate(signing_pem)
            key = serialization.load_pem_private_key(locked, passphrase)
            signing.verify_directly_issued_by(root)
        except (ValueError, TypeError, InvalidSignature) as failure:
            raise RecordTrouble(_unfit(folder)) from failure
        if not isinstance(key, Key) or key.public_key() != signing.public_key():
            raise RecordTrouble(_unfit(folder))
        return cls(root, signing, key)

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the root certificate, to be made known by other ways than the records."""
        return self.root.fingerprint(hashes.SHA256()).hex()

    @property
    def certificates_pem(self) -> bytes:
        """Both certificates as text, the sealing one first."""
        return _pem(self.signing) + _pem(self.root)

    @property
    def signer_name(self) -> str:
        """The name that the seal bears."""
        return str(self.signing.subject.get_attributes_for_oid(NameOID.COMMON_NAME)[0].value)

    def key_der(self) -> bytes:
        """Return the sealing key as PKCS #8, for the signing library; never written to a file."""
        return self.key.private_bytes(
            serialization.Encoding.DER,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )


def der(certificate: x509.Certificate) -> bytes:
    """Return a certificate's bytes."""
    return certificate.public_bytes(serialization.Encoding.DER)


def _unfit(folder: Path) -> str:
    return (
        f"The keys in {folder} do not fit each other, or the passphrase is not theirs. Bring all "
        "of them back from the same copy; records cannot be sealed without them."
    )


def _root(key: Key, site: str, now: datetime) -> x509.Certificate:
    name = _name(site, "record root")
    return (
        _certificate(name, name, key, now, ROOT_DAYS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(certifies=True), critical=True)
        .sign(key, hashes.SHA256())
    )


def _signing(
    key: Key, site: str, now: datetime, root: x509.Certificate, root_key: Key
) -> x509.Certificate:
    issuer = x509.AuthorityKeyIdentifier.from_issuer_public_key(root_key.public_key())
    return (
        _certificate(_name(site, "recorder"), root.subject, key, now, SIGNING_DAYS)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(certifies=False), critical=True)
        .add_extension(issuer, critical=False)
        .sign(root_key, hashes.SHA256())
    )


def _certificate(
    subject: x509.Name, issuer: x509.Name, key: Key, now: datetime, days: int
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder(subject_name=subject, issuer_name=issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - BACKDATED)
        .not_valid_after(now + timedelta(days=days))
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )


def _usage(*, certifies: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not certifies,
        content_commitment=not certifies,
        key_cert_sign=certifies,
        crl_sign=certifies,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _name(site: str, what: str) -> x509.Name:
    shown = site[:NAME_LENGTH].strip()
    return x509.Name(
        [
            x509.NameAttribute(NameOID.ORGANIZATION_NAME, shown),
            x509.NameAttribute(NameOID.COMMON_NAME, f"{shown} {what}"),
        ]
    )


def _pem(certificate: x509.Certificate) -> bytes:
    return certificate.public_bytes(serialization.Encoding.PEM)


def _locked(key: Key, passphrase: str) -> bytes:
    # The library stretches the passphrase little; this one is 256 random bits and needs none.
    return key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.BestAvailableEncryption(passphrase.encode()),
    )


def _write(path: Path, content: bytes) -> None:
    """Write a new file that nobody else can read, and have it on the disk before going on."""
    opened = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(opened, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
