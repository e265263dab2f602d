"""The certificates under which tablets speak to a site: the site's own authority, and its server.

The fields are those that tablets ask for: names in the subject's alternative names, use as a server
named, SHA-2, at most 825 days (Apple, "Requirements for trusted certificates in iOS 13 and macOS 10.15",
HT210176); a server's certificate lasts 397 days all the same. The authority may only certify the site's own
names (RFC 5280, 4.2.1.10), so that whoever steals its key cannot pose as anyone else.
"""

from __future__ import annotations

import ipaddress
from collections.abc import Sequence
from datetime import datetime, timedelta

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

AUTHORITY_DAYS = 3650
SERVER_DAYS = 397
BACKDATED = timedelta(days=1)  # a tablet's clock may run behind ours
NAME_LENGTH = 40

Key = ec.EllipticCurvePrivateKey
Address = ipaddress.IPv4Address | ipaddress.IPv6Address


def new_key() -> Key:
    """Return a new key on the curve that every tablet knows."""
    return ec.generate_private_key(ec.SECP256R1())


def authority(key: Key, site: str, names: Sequence[str], now: datetime) -> x509.Certificate:
    """Return the certificate of a site's authority, which may certify these names and no others."""
    name = _name(site, "tablets")
    permitted: list[x509.GeneralName] = [
        x509.IPAddress(ipaddress.ip_network(found))
        if (found := address(each))
        else x509.DNSName(each)
        for each in names
    ]
    return (
        _builder(name, name, key, now, AUTHORITY_DAYS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(certifies=True), critical=True)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
        .sign(key, hashes.SHA256())
    )


def server(  # noqa: PLR0913, PLR0917 - what a certificate says, and who says it
    key: Key, site: str, names: Sequence[str], now: datetime, over: x509.Certificate, over_key: Key
) -> x509.Certificate:
    """Return the certificate of the site's server under its authority."""
    alternative: list[x509.GeneralName] = [
        x509.IPAddress(found) if (found := address(each)) else x509.DNSName(each) for each in names
    ]
    issuer = x509.AuthorityKeyIdentifier.from_issuer_public_key(over_key.public_key())
    return (
        _builder(_name(site, "recorder"), over.subject, key, now, SERVER_DAYS)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(certifies=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName(alternative), critical=False)
        .add_extension(issuer, critical=False)
        .sign(over_key, hashes.SHA256())
    )


def address(name: str) -> Address | None:
    """Return the address that a name is, None where it is a name."""
    try:
        return ipaddress.ip_address(name.strip("[]"))
    except ValueError:
        return None


def names_of(certificate: x509.Certificate) -> frozenset[str]:
    """Return the names that a server's certificate is for."""
    found = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    addresses = found.get_values_for_type(x509.IPAddress)
    return frozenset(found.get_values_for_type(x509.DNSName)) | {str(each) for each in addresses}


def may_certify(certificate: x509.Certificate, name: str) -> bool:
    """Say whether an authority may certify a name."""
    constraints = certificate.extensions.get_extension_for_class(x509.NameConstraints).value
    found = address(name)
    for each in constraints.permitted_subtrees or ():
        if isinstance(each, x509.IPAddress):
            network = ipaddress.ip_network(str(each.value))
            if found is not None and found in network:
                return True
        elif found is None and (name == each.value or name.endswith(f".{each.value}")):
            return True
    return False


def _builder(
    subject: x509.Name, issuer: x509.Name, key: Key, now: datetime, days: int
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder(subject_name=subject, issuer_name=issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - BACKDATED)
        .not_valid_after(now - BACKDATED + timedelta(days=days))
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )


def _usage(*, certifies: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not certifies,
        key_cert_sign=certifies,
        crl_sign=certifies,
        content_commitment=False,
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
