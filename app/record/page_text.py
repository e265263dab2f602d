"""The text that a printed record shows, read from its pages without any program but this one.

It reads what our printer writes: glyphs in hexadecimal, each font with its table of characters.
Whatever else shows text cannot be read here, and is told as such: a page has nothing hidden.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from html.parser import HTMLParser
from typing import TYPE_CHECKING, Any

from app.record.attached import part_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from app.record.attached import Contents

PAIRS = re.compile(r"<([0-9a-fA-F]+)>\s*<([0-9a-fA-F]*)>")
CHARACTERS = re.compile(r"beginbfchar(.*?)endbfchar", re.DOTALL)
GLYPHS = re.compile(r"<([0-9a-fA-F]*)>")
FONT = re.compile(r"(/\S+) [\d.]+ Tf")
DEEPEST_TREE = 16
UNREAD = "�"  # a glyph that its font gives no character
FURNITURE = frozenset({"head", "svg"})  # of the HTML: what is not text of a page


@dataclass(frozen=True, slots=True)
class PageText:
    """One page: its text without any space, and how many things it draws outside all figures."""

    text: str
    strangers: int


def page_texts(contents: Contents) -> tuple[PageText, ...]:
    """Return the text of each page; raises whatever the parser raises on a damaged file."""
    return tuple(_page_text(page) for page in _pages(contents.root["/Pages"], 0))


def _pages(node: Any, depth: int) -> Iterator[Any]:
    if depth > DEEPEST_TREE:
        raise ValueError("the tree of pages has no end")
    if node["/Type"] == "/Pages":
        for kid in node["/Kids"]:
            yield from _pages(kid.get_object(), depth + 1)
    else:
        yield node


def _page_text(page: Any) -> PageText:
    fonts = {name: _characters(font) for name, font in _fonts(page).items()}
    stream = page["/Contents"]
    streams = stream if isinstance(stream, list) else [stream]
    content = b"\n".join(each.get_object().data for each in streams).decode("latin-1")
    said: list[str] = []
    strangers = 0
    for line, is_figure in _outside_figures(content.split("\n")):
        if match := FONT.match(line):
            font = fonts.get(match[1], {})
        elif line.endswith((" TJ", " Tj")) and not is_figure:
            said += [_spoken(glyphs, font) for glyphs in GLYPHS.findall(line)]
            strangers += "(" in line  # a string of another spelling: our printer writes none
        elif line.endswith((" Do", "'", '"')) and not is_figure:
            strangers += 1
    return PageText(bare("".join(said)), strangers)


def _outside_figures(lines: list[str]) -> Iterator[tuple[str, bool]]:
    """Yield each line with whether it stands inside a figure: its marks may be nested."""
    marks: list[bool] = []
    tag = ""
    for line in lines:
        word = line.rpartition(" ")[2]
        if line.startswith("/") and " " not in line:
            tag = line
        if word in {"BDC", "BMC"}:
            marks.append(tag == "/Figure" or line.startswith("/Figure "))
        elif word == "EMC" and marks:
            marks.pop()
        yield line, any(marks)


def _spoken(glyphs: str, font: Mapping[str, str]) -> str:
    codes = (glyphs[at : at + 4].lower() for at in range(0, len(glyphs), 4))
    return "".join(font.get(code, UNREAD) for code in codes)


def _fonts(page: Any) -> dict[str, Any]:
    resources = page["/Resources"]
    fonts = part_of(resources, "/Font") or {}
    return {str(name): fonts[name] for name in fonts}


def _characters(font: Any) -> dict[str, str]:
    table = font["/ToUnicode"].data.decode("latin-1")
    return {
        code.lower(): bytes.fromhex(spelt).decode("utf-16-be")
        for block in CHARACTERS.findall(table)
        for code, spelt in PAIRS.findall(block)
    }


def bare(text: str) -> str:
    """Return a text without spaces of any kind, as it is compared."""
    return re.sub(r"\s+", "", text)


class Written(HTMLParser):
    """Gathers the text of an HTML page in order, and that of its table heads, which are repeated."""

    def __init__(self) -> None:
        super().__init__()
        self.said: list[str] = []
        self.heads: list[str] = []
        self._hidden = 0
        self._head = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:  # noqa: ARG002
        """Note where hidden text and table heads begin."""
        self._hidden += tag in FURNITURE
        if tag == "thead":
            self._head = True
            self.heads.append("")

    def handle_endtag(self, tag: str) -> None:
        """Note where they end."""
        self._hidden -= tag in FURNITURE
        if tag == "thead":
            self._head = False

    def handle_data(self, data: str) -> None:
        """Gather text."""
        if self._hidden:
            return
        self.said.append(data)
        if self._head:
            self.heads[-1] += data


def written(html: str) -> Written:
    """Return the text of a page of HTML."""
    reader = Written()
    reader.feed(html)
    return reader
