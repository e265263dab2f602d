"""Seals a printed record: PAdES B-B under a root of the site's own, certified to allow no change.

Two traps, both silent, are kept shut here. The signing library rewrites the metadata when it saves
and so breaks PDF/A: `KeepXmpWriter` forbids it. A visible or boxed field breaks PDF/UA: ours has
neither; the statement of the seal is ordinary text on the page.
"""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

from asn1crypto import keys as asn1_keys
from asn1crypto import x509 as asn1_x509
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.sign import PdfSignatureMetadata, PdfSigner, SimpleSigner
from pyhanko.sign.fields import InvisSigSettings, MDPPerm, SigFieldSpec, SigSeedSubFilter
from pyhanko_certvalidator.registry import SimpleCertificateStore

from app.record.keys import SiteKeys, der

if TYPE_CHECKING:
    from cryptography import x509

__all__ = ["FIELD", "KeepXmpWriter", "SiteKeys", "seal"]

FIELD = "RecordSeal"


class KeepXmpWriter(IncrementalPdfFileWriter):
    """Adds the seal and leaves the metadata as it was printed."""

    def _update_meta(self) -> None:
        """Do nothing: a rewrite here would break seven rules of PDF/A."""


def seal(pdf: bytes, keys: SiteKeys, *, record: str) -> bytes:
    """Return the sealed file.

    Args:
        pdf: the printed record.
        keys: the site's keys.
        record: the record's number, for the seal's own description.
    """
    field = SigFieldSpec(
        FIELD,
        readable_field_name="Seal of the record",
        invis_sig_settings=InvisSigSettings(set_print_flag=True, box_out_of_bounds=True),
    )
    meta = PdfSignatureMetadata(
        field_name=FIELD,
        subfilter=SigSeedSubFilter.PADES,
        md_algorithm="sha256",
        certify=True,
        docmdp_permissions=MDPPerm.NO_CHANGES,
        name=keys.signer_name,
        reason=f"Seal of record {record}",
    )
    sealed = BytesIO()
    signer = PdfSigner(meta, signer=_signer(keys), new_field_spec=field)
    signer.sign_pdf(KeepXmpWriter(BytesIO(pdf)), output=sealed)
    return sealed.getvalue()


def _signer(keys: SiteKeys) -> SimpleSigner:
    return SimpleSigner(
        signing_cert=_asn1(keys.signing),
        signing_key=asn1_keys.PrivateKeyInfo.load(keys.key_der()),
        cert_registry=_chain(keys),
    )


def _chain(keys: SiteKeys) -> SimpleCertificateStore:
    store = SimpleCertificateStore()  # type: ignore[no-untyped-call]
    store.register(_asn1(keys.root))  # the sealing certificate comes along by itself
    return store


def _asn1(certificate: x509.Certificate) -> asn1_x509.Certificate:
    return asn1_x509.Certificate.load(der(certificate))
