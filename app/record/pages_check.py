"""Whether the pages of a record say what its events say.

The pages are made again from the attached files, as text; the text of the sealed pages must be the
same, character for character, spaces aside. A page has besides only its running lines, its number,
and the head of a table that goes on from the page before.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.record.page_text import bare, page_texts, written
from app.record.printing import page
from app.record.seal_check import Found
from app.record.shown import fingerprint

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from app.record.attached import Contents
    from app.record.document import Document
    from app.record.page_text import PageText

AROUND = 40  # characters told of a difference
SAME = (
    "The text of all {pages} pages is, character for character, what the attached events, "
    "procedure and site's file make of it."
)


def page_sentences(contents: Contents, document: Document) -> Iterator[Found]:
    """Yield what holds of the pages."""
    pages = page_texts(contents)
    found = difference(pages, document)
    if found:
        yield Found(False, found)
    else:
        yield Found(True, SAME.format(pages=len(pages)))
    for number, each in enumerate(pages, start=1):
        if each.strangers:
            yield Found(
                False,
                f"Page {number} draws {each.strangers} things outside of all figures that no "
                "record has: they could cover what stands there.",
            )


def difference(pages: Sequence[PageText], document: Document) -> str:
    """Return where the pages say something else than the document, as a sentence; or ""."""
    html = written(page(document))
    running = tuple(bare(line) for line in running_lines(document))
    wanted = bare("".join(html.said))
    wanted = wanted.removeprefix("".join(running))
    heads = sorted({bare(head) for head in html.heads}, key=len, reverse=True)
    for number, each in enumerate(pages, start=1):
        own, gone = _own(each.text, (*running, f"Page{number}of{len(pages)}"))
        if gone:
            return f"Page {number} does not bear its running lines: “{gone}” is missing."
        at = _length_alike(own, wanted)
        for head in heads:
            rest = own.removeprefix(head)  # of a table that goes on from the page before
            if at < len(own) and rest != own and len(head) + _length_alike(rest, wanted) > at:
                own, at = rest, _length_alike(rest, wanted)
                break
        if at < len(own):
            said, must = own[at : at + AROUND], wanted[at : at + AROUND]
            after = own[max(0, at - AROUND) : at]
            return (
                f"Page {number} says “{said}” after “{after}”; the events make it “{must}” "
                "(spaces left out)."
            )
        wanted = wanted[at:]
    if wanted:
        return f"The pages end too early: “{wanted[:AROUND]}” is missing (spaces left out)."
    return ""


def running_lines(document: Document) -> tuple[str, ...]:
    """Return what every page bears above and below its text."""
    return (
        f"{document.site}. Record {document.run}",
        f"{document.procedure} revision {document.revision}",
        f"Head {' '.join(fingerprint(document.head))}",
    )


def _own(text: str, running: Sequence[str]) -> tuple[str, str]:
    """Return a page's text without its running lines, and the line that it lacks, if any."""
    tail = "".join(running)
    if text.endswith(tail):
        return text[: -len(tail)], ""
    lacking = [line for line in running if line not in text]
    return text, lacking[0] if lacking else tail


def _length_alike(one: str, other: str) -> int:
    """Return how many characters two texts have in common from their beginning."""
    low, high = 0, min(len(one), len(other))
    while low < high:
        middle = (low + high + 1) // 2
        if one[low:middle] == other[low:middle]:
            low = middle
        else:
            high = middle - 1
    return low
