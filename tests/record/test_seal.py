"""The seal, as programs that are not ours see it."""

from __future__ import annotations

import subprocess
from io import BytesIO
from typing import TYPE_CHECKING

import pytest
from pyhanko.pdf_utils.reader import PdfFileReader

from tests.conftest import needs

if TYPE_CHECKING:
    from pathlib import Path

    from app.record.keys import SiteKeys
    from tests.record.conftest import Sealed

VALID = "Signature is Valid."
TRUSTED = "Certificate is Trusted."
WHOLE = "Total document signed"


@pytest.fixture
def trust(tmp_path: Path, keys: SiteKeys) -> Path:
    """A store of trusted roots that holds ours alone."""
    store = tmp_path / "nss"
    store.mkdir()
    root = tmp_path / "root.pem"
    root.write_bytes(keys.certificates_pem.partition(b"-----END CERTIFICATE-----\n")[2])
    certutil = needs("certutil")
    where = ["-d", f"sql:{store}"]
    subprocess.run([certutil, "-N", *where, "--empty-password"], check=True)
    add = ["-A", *where, "-n", "root", "-t", "C,C,C", "-a", "-i", str(root)]
    subprocess.run([certutil, *add], check=True)
    return store


def pdfsig(store: Path, file: Path) -> str:
    """Return what pdfsig says; its exit status says nothing, so only its words count."""
    command = [needs("pdfsig"), "-nssdir", f"sql:{store}", str(file)]
    return subprocess.run(command, capture_output=True, text=True, check=False, timeout=60).stdout


def test_pdfsig_finds_one_valid_trusted_seal_over_the_whole_file(trust: Path, file: Path) -> None:
    said = pdfsig(trust, file)

    assert said.count("Signature #") == 1
    for words in (VALID, TRUSTED, WHOLE, "ETSI.CAdES.detached", "SHA-256", "RecordSeal"):
        assert words in said, said


def test_pdfsig_sees_a_changed_byte(trust: Path, file: Path, sealed: Sealed) -> None:
    at = sealed.pdf.index(b"stream") + 40
    file.write_bytes(sealed.pdf[:at] + bytes([sealed.pdf[at] ^ 1]) + sealed.pdf[at + 1 :])

    assert VALID not in pdfsig(trust, file)


def test_pdfsig_does_not_trust_a_stranger_of_the_same_name(
    trust: Path, file: Path, sealed: Sealed, other_keys: SiteKeys
) -> None:
    from app.record.seal import seal  # noqa: PLC0415

    file.write_bytes(seal(sealed.printed.pdf, other_keys, record="R-0001"))

    assert TRUSTED not in pdfsig(trust, file)


def test_sealing_leaves_the_printed_bytes_as_they_were(sealed: Sealed) -> None:
    assert sealed.pdf.startswith(sealed.printed.pdf)


def test_sealing_writes_no_metadata_of_its_own(sealed: Sealed) -> None:
    """The signing library would rewrite it and break PDF/A: our override must keep working."""
    added = sealed.pdf[len(sealed.printed.pdf) :]

    assert b"/Metadata" not in sealed.pdf[: len(sealed.printed.pdf)] or b"xpacket" not in added
    assert sealed.pdf.count(b"<?xpacket begin") == 1
    assert b"/ModDate" not in added


def test_the_seal_is_nowhere_on_the_page_but_would_be_printed(sealed: Sealed) -> None:
    reader = PdfFileReader(BytesIO(sealed.pdf))
    field = reader.embedded_signatures[0].sig_field

    assert [float(edge) for edge in field["/Rect"]] != [0, 0, 0, 0]
    assert int(field["/F"]) & 4
