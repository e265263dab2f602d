"""What a PDF file holds that verifying needs: its seals, its attachments, what it says of itself."""

from __future__ import annotations

from dataclasses import dataclass
from io import BytesIO
from typing import TYPE_CHECKING, Any

from pyhanko.pdf_utils.reader import PdfFileReader

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

DEEPEST_TREE = 8  # of names; ours has one level, and a file may be made to have no end


@dataclass(frozen=True, slots=True)
class Contents:
    """The parts of a file, read once."""

    seals: tuple[Any, ...]  # as the signing library has them
    info: Mapping[str, str]
    files: Mapping[str, bytes]
    doubled: tuple[str, ...]  # names that stand for more than one attachment


def contents_of(data: bytes) -> Contents:
    """Return the parts of a PDF file; raises whatever the parser raises on a file that is none."""
    reader = PdfFileReader(BytesIO(data))
    files: dict[str, bytes] = {}
    doubled: list[str] = []
    for name, content in _attachments(reader.root):
        if name in files:
            doubled.append(name)
        files[name] = content
    return Contents(tuple(reader.embedded_signatures), _info(reader), files, tuple(doubled))


def _info(reader: PdfFileReader) -> dict[str, str]:
    info = reader.trailer_view.get("/Info", {})
    return {str(key)[1:]: str(info[key]) for key in info}


def _attachments(root: Any) -> Iterator[tuple[str, bytes]]:
    names = root.get("/Names", {})
    if "/EmbeddedFiles" in names:
        yield from _named(names["/EmbeddedFiles"], 0)


def _named(node: Any, depth: int) -> Iterator[tuple[str, bytes]]:
    if depth > DEEPEST_TREE:
        raise ValueError("the tree of attachments has no end")
    for kid in node.get("/Kids", ()):
        yield from _named(kid.get_object(), depth + 1)
    pairs = node.get("/Names", ())
    for index in range(1, len(pairs), 2):
        spec = pairs[index]
        name = spec["/UF"] if "/UF" in spec else spec["/F"]
        yield str(name), bytes(spec["/EF"]["/F"].data)
