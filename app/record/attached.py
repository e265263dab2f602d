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
    """The parts of a file that its structure shows at once."""

    seals: tuple[Any, ...]  # as the signing library has them
    info: Mapping[str, str]  # by the name in small letters
    root: Any


@dataclass(frozen=True, slots=True)
class Files:
    """The attachments of a file."""

    by_name: Mapping[str, bytes]
    doubled: tuple[str, ...]  # names that stand for more than one attachment


def contents_of(data: bytes) -> Contents:
    """Return the parts of a PDF file; raises whatever the parser raises on a file that is none."""
    reader = PdfFileReader(BytesIO(data))
    return Contents(tuple(reader.embedded_signatures), _info(reader), reader.root)


def files_of(contents: Contents) -> Files:
    """Return the attachments; raises whatever the parser raises on a damaged one."""
    files: dict[str, bytes] = {}
    doubled: list[str] = []
    for name, content in _attachments(contents.root):
        if name in files:
            doubled.append(name)
        files[name] = content
    return Files(files, tuple(doubled))


def _info(reader: PdfFileReader) -> dict[str, str]:
    info = part_of(reader.trailer, "/Info")
    return {str(key)[1:].lower(): str(info[key]) for key in info or ()}


def _attachments(root: Any) -> Iterator[tuple[str, bytes]]:
    names = part_of(root, "/Names")
    files = names and part_of(names, "/EmbeddedFiles")
    if files:
        yield from _named(files, 0)


def _named(node: Any, depth: int) -> Iterator[tuple[str, bytes]]:
    if depth > DEEPEST_TREE:
        raise ValueError("the tree of attachments has no end")
    for kid in part_of(node, "/Kids") or ():
        yield from _named(kid.get_object(), depth + 1)
    pairs = part_of(node, "/Names") or ()
    for index in range(1, len(pairs), 2):
        spec = pairs[index]
        name = part_of(spec, "/UF") or spec["/F"]
        yield str(name), bytes(spec["/EF"]["/F"].data)


def part_of(node: Any, key: str) -> Any:
    """Return a part, looked up where it is kept: the library's own `get` gives the reference."""
    if key not in node:
        return None
    return node[key]
