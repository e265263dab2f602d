"""What holds of a record's seal: that it is there, covers all, and is of the root asked for.

Traps kept shut here: a file to which something was added still bears a valid signature of its
older part, so the covered range is compared with the file's size; a key of the same name proves
nothing, so the root is known by its SHA-256 alone.
"""

from __future__ import annotations

import asyncio
import hashlib
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from asn1crypto import cms
from pyhanko.sign.fields import MDPPerm
from pyhanko.sign.validation import async_validate_pdf_signature
from pyhanko.sign.validation.status import SignatureCoverageLevel
from pyhanko_certvalidator import ValidationContext

from app.record.seal import FIELD
from app.record.shown import fingerprint

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from app.record.attached import Contents


@dataclass(frozen=True, slots=True)
class Found:
    """One thing looked at, whether it holds, and the sentence that says so."""

    holds: bool
    sentence: str
    judged: bool = True  # False: it could not be looked into, and that is said


def bare_fingerprint(typed: str) -> str:
    """Return the hexadecimal digits of a fingerprint, however it was grouped."""
    return re.sub(r"[^0-9a-f]", "", typed.lower())


def spoken(digest: str) -> str:
    """Return a fingerprint in groups of four."""
    return " ".join(fingerprint(digest))


def seal_sentences(
    contents: Contents, data: bytes, asked: str | None, now: datetime
) -> Iterator[Found]:
    """Yield what holds of the seal."""
    if not contents.seals:
        yield Found(False, "It bears no seal. A record that was sealed has been stripped of it.")
        return
    if len(contents.seals) > 1:
        yield Found(False, f"It bears {len(contents.seals)} seals; a record bears one.")
    seal = contents.seals[0]
    yield from _form(seal)
    yield _coverage(seal, data)
    yield from _trust(seal, contents, asked, now)


def _form(seal: Any) -> Iterator[Found]:
    if seal.field_name != FIELD:
        yield Found(False, f"Its seal is named {seal.field_name}; that of a record is {FIELD}.")
    if seal.docmdp_level != MDPPerm.NO_CHANGES:
        yield Found(False, "Its seal does not forbid later changes, as that of a record does.")
    if not _is_plain(bytes(seal.pkcs7_content)):
        yield Found(False, "The envelope of the seal holds more than a seal, or was altered.")


def _is_plain(envelope: bytes) -> bool:
    """Say whether the seal's own envelope, which no seal can cover, is exactly of our making.

    Two certificates, one digest, one signer and no unsigned attribute, then zeros: what could be
    changed there without breaking the signature would otherwise go unseen.
    """
    length = 4 + int.from_bytes(envelope[2:4])  # DER, long form with two octets
    if envelope[:2] != b"\x30\x82" or envelope[length:].strip(b"\0"):
        return False
    info = cms.ContentInfo.load(envelope[:length], strict=True)
    data = info["content"]
    digests = [each["algorithm"].native for each in data["digest_algorithms"]]
    signers = data["signer_infos"]
    prints = {each.chosen.sha256 for each in data["certificates"]}
    return (
        data["version"].native == "v1"
        and digests == ["sha256"]
        and len(prints) == len(data["certificates"]) == 2
        and len(signers) == 1
        and not signers[0]["unsigned_attrs"].native
        and info.dump(force=True) == envelope[:length]
    )


def _coverage(seal: Any, data: bytes) -> Found:
    """Compare the covered range with the file: both ends, and a gap that holds the seal alone."""
    start, before, after, last = (int(each) for each in seal.byte_range)
    end = after + last
    if end < len(data):
        return Found(False, f"Bytes {end} to {len(data) - 1} were added after sealing.")
    gap = data[before:after]
    only_seal = re.fullmatch(rb"<[0-9A-Fa-f]+>", gap) is not None
    if start != 0 or end != len(data) or not only_seal:
        return Found(False, "The seal leaves out a part of the file, where anything could stand.")
    return Found(True, f"The seal covers all {len(data)} bytes of the file.")


def _trust(seal: Any, contents: Contents, asked: str | None, now: datetime) -> Iterator[Found]:
    brought = (*seal.other_embedded_certs, seal.signer_cert)
    roots = [each for each in brought if each.self_issued]
    prints = {hashlib.sha256(root.dump()).hexdigest(): root for root in roots}
    if asked is not None and asked not in prints:
        known = "; ".join(spoken(each) for each in prints) or "none"
        yield Found(False, f"It is sealed under another root than the one asked for: {known}.")
    if len(prints) != 1:
        yield Found(False, f"The seal brings {len(prints)} roots; a record brings one.")
    root_print = asked if asked in prints else next(iter(prints), None)
    if root_print is None:
        return
    yield from _signature(seal, prints[root_print], now)
    yield from _named_root(contents, root_print, asked)


def _signature(seal: Any, root: Any, now: datetime) -> Iterator[Found]:
    context = ValidationContext(trust_roots=[root], allow_fetching=False, moment=now)
    # What an update changed need not be looked into: no update at all is allowed.
    looked = async_validate_pdf_signature(seal, signer_validation_context=context, skip_diff=True)
    status = asyncio.run(looked)
    before, after = int(seal.byte_range[1]), int(seal.byte_range[2])
    if not status.intact:
        last = after + int(seal.byte_range[3]) - 1
        yield Found(
            False,
            f"The seal is broken: something in bytes 0 to {before - 1} or {after} to {last} "
            "changed after sealing.",
        )
    elif not status.valid:
        yield Found(False, "The seal is broken: its signature does not fit its own key.")
    elif not status.trusted:
        yield Found(False, _untrusted(seal, now))
    elif not status.bottom_line or status.coverage != SignatureCoverageLevel.ENTIRE_FILE:
        yield Found(False, "The file was changed after sealing.")
    else:
        name = seal.signer_cert.subject.native["common_name"]
        yield Found(True, f"Nothing changed since it was sealed by {name}.")


def _untrusted(seal: Any, now: datetime) -> str:
    valid = seal.signer_cert["tbs_certificate"]["validity"].native
    if not valid["not_before"] <= now <= valid["not_after"]:
        return (
            f"The certificate of the seal was in date from {valid['not_before']:%Y-%m-%d} to "
            f"{valid['not_after']:%Y-%m-%d}, which is not now."
        )
    return "The key of the seal is not one that the root has certified."


def _named_root(contents: Contents, root_print: str, asked: str | None) -> Iterator[Found]:
    named = contents.info.get("rootsha256", "")
    if named != root_print:
        yield Found(False, "The pages name another root than that of the seal.")
    if asked is None:
        yield Found(
            True,
            "The root was taken from the file itself, so this says nothing yet of who sealed it. "
            "Compare its SHA-256 with the one that the site makes known by another way: "
            f"{spoken(root_print)}.",
        )
    else:
        yield Found(True, "The root is the one asked for.")


def root_of(contents: Contents) -> str:
    """Return the SHA-256 of the root that the seal brings, "" where it brings none or several."""
    if not contents.seals:
        return ""
    seal = contents.seals[0]
    roots = {
        hashlib.sha256(each.dump()).hexdigest()
        for each in (*seal.other_embedded_certs, seal.signer_cert)
        if each.self_issued
    }
    return roots.pop() if len(roots) == 1 else ""
