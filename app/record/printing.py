"""Prints a record as PDF/A-3a with its attachments. Runs in a child process: see `pdf.py`.

Rules that keep the pages the same for the same record:
- no date but that of the run's last event, on the pages and on the attachments;
- fonts from our own files only; no address but `file:` and `data:` is ever fetched.
"""

from __future__ import annotations

import base64
import hashlib
import logging
import re
from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import TYPE_CHECKING, Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

from app.record.figures import rule_of
from app.record.shown import fingerprint
from app.settings import data_folder

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.procedure.drawn.drawings import Drawn
    from app.record.shown import Document

# The PDF/UA identifier, and the declaration of its schema that PDF/A asks for.
UA_RDF = b"""
<rdf:Description xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#" rdf:about=""
 xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/"><pdfuaid:part>1</pdfuaid:part></rdf:Description>
<rdf:Description xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#" rdf:about=""
 xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/"
 xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#"
 xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#"><pdfaExtension:schemas><rdf:Bag>
<rdf:li rdf:parseType="Resource"><pdfaSchema:schema>PDF/UA identification</pdfaSchema:schema>
<pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI>
<pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix><pdfaSchema:property><rdf:Seq>
<rdf:li rdf:parseType="Resource"><pdfaProperty:name>part</pdfaProperty:name>
<pdfaProperty:valueType>Integer</pdfaProperty:valueType>
<pdfaProperty:category>internal</pdfaProperty:category>
<pdfaProperty:description>Part of PDF/UA</pdfaProperty:description></rdf:li>
</rdf:Seq></pdfaSchema:property></rdf:li></rdf:Bag></pdfaExtension:schemas></rdf:Description>
"""
DRAWING = re.compile(r"<svg ([^>]*)>(.*?)</svg>", re.DOTALL)
PRINTED = (  # the classes of the page's drawings in black on white; a mark is never colour alone
    "text{font-family:AHM;font-weight:500;fill:#0E171B}.mid{text-anchor:middle}"
    ".g-ink,.g-act,.g-done{fill:#0E171B}.g-sheet{fill:#fff}.g-well{fill:#E9EEEE}"
    ".g-line,.g-acts,.g-dones{fill:none;stroke:#0E171B;stroke-width:2.5}"
    ".g-thin{fill:none;stroke:#66767D;stroke-width:2}.g-tick{fill:none;stroke:#fff;stroke-width:2.6}"
    ".g-bad{fill:#9E1220}.g-bads{fill:none;stroke:#9E1220;stroke-width:3}"
    ".g-ondone{fill:#fff}.g-limit{stroke-width:4}.g-dots{stroke-dasharray:3 9}"
)
MISSING = (
    "The record cannot be printed: the text layout library Pango is not installed on this "
    "server. Whoever keeps the server installs libpango-1.0-0, libpangoft2-1.0-0 and "
    "libharfbuzz-subset0, then the record can be made. Nothing is lost: every event is kept. "
    "The system says: {failure}"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Attached:
    """A file that travels inside the record."""

    name: str
    content: bytes
    description: str
    relationship: str = "Source"


@dataclass(frozen=True, slots=True)
class Job:
    """What the child process is asked to print."""

    document: Document
    attached: tuple[Attached, ...]


@dataclass(frozen=True, slots=True)
class Printed:
    """The unsealed file, and what the printer complained of."""

    pdf: bytes
    complaints: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NotPrinted:
    """Why nothing could be printed."""

    sentence: str


@cache
def _templates() -> Environment:
    return Environment(
        loader=FileSystemLoader(data_folder("templates")),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def page(document: Document) -> str:
    """Return the record as the HTML that is printed."""
    template = _templates().get_template("record/pdf.html")
    pictures = defaultdict(str, {k: _as_address(v) for k, v in document.pictures.items()})
    return template.render(
        record=document,
        rule=rule_of(document),
        fingerprint=fingerprint,
        pictures=pictures,
        as_print=_as_print,
    )


def _as_print(drawing: Drawn) -> Markup:
    """Return a drawing of the page as one for print: its own style inside, its words as its title."""
    said = _templates().get_template("_drawing.html").render(drawing=drawing)
    found = DRAWING.search(said)
    if found is None:
        return Markup()
    style = f"<title>{escape(drawing.label)}</title><style>{PRINTED}</style>"
    size = f'class="drawing-{drawing.form}" {found[1].replace("class=", "data-was=")}'
    return Markup(f"<svg {size}>{style}{found[2]}</svg>")  # noqa: S704  all of it was escaped


def _as_address(picture: bytes) -> str:
    return f"data:image/jpeg;base64,{base64.b64encode(picture).decode()}"


class Complaints(logging.Handler):
    """Gathers what the printer logs."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.said: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        """Keep one message."""
        self.said.append(record.getMessage())


def print_record(job: Job) -> Printed | NotPrinted:
    """Return the printed record. The only place where the printer is loaded."""
    try:
        import weasyprint  # noqa: PLC0415  needs Pango, which the rest of the house does not
    except OSError as failure:
        return NotPrinted(MISSING.format(failure=str(failure).splitlines()[0]))
    complaints = Complaints()
    logger = logging.getLogger("weasyprint")
    logger.handlers, logger.propagate = [complaints], False
    pdf = _print(weasyprint, job)
    return Printed(pdf, tuple(complaints.said))


def _print(weasyprint: Any, job: Job) -> bytes:
    html = page(job.document)
    fetcher = _fetcher(weasyprint)
    fonts, css = _dress(weasyprint)
    options: dict[str, Any] = {
        "pdf_variant": "pdf/a-3a",
        "custom_metadata": True,
        "pdf_identifier": hashlib.sha256(html.encode()).digest()[:16],
    }
    laid_out = weasyprint.HTML(string=html, url_fetcher=fetcher).render(
        font_config=fonts, stylesheets=[css], **options
    )
    plain = laid_out.metadata.generate_rdf_metadata
    laid_out.metadata.generate_rdf_metadata = _with_ua(plain)
    attachments = [_attachment(weasyprint, each, job.document.made) for each in job.attached]
    options["attachments"] = attachments
    pdf: bytes = laid_out.write_pdf(finisher=_leave_metadata_plain, **options)
    return pdf


@cache
def _dress(weasyprint: Any) -> tuple[Any, Any]:
    """Return faces and style, unpacked once in the life of the child: that takes half a second."""
    fonts = weasyprint.text.fonts.FontConfiguration()
    sheet = data_folder("static") / "css" / "record-pdf.css"
    return fonts, weasyprint.CSS(
        filename=sheet, font_config=fonts, url_fetcher=_fetcher(weasyprint)
    )


def _fetcher(weasyprint: Any) -> Any:
    return weasyprint.URLFetcher(allowed_protocols={"file", "data"})


def _with_ua(plain: Callable[..., bytes]) -> Callable[..., bytes]:
    def both(*asked: object) -> bytes:
        return plain(*asked).replace(b"</rdf:RDF>", UA_RDF + b"</rdf:RDF>")

    return both


def _leave_metadata_plain(_document: Any, pdf: Any) -> None:
    """Older readers and archives look for the metadata uncompressed."""
    for each in pdf.objects:
        extra = getattr(each, "extra", None)
        if extra and extra.get("Type") == "/Metadata":
            each.compress = False


def _attachment(weasyprint: Any, attached: Attached, made: str) -> Any:
    at = datetime.fromisoformat(made)
    return weasyprint.Attachment(
        string=attached.content,
        name=attached.name,
        description=attached.description,
        created=at,
        modified=at,
        relationship=attached.relationship,
    )
