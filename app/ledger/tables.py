"""The three append-only tables of the ledger: events, receipts, procedure texts.

An event's canonical bytes are what is kept; the columns beside them only serve to find it, and
verification compares them with the bytes. The order of `id` is the order of commits.
"""

from __future__ import annotations

from sqlalchemy import LargeBinary, UniqueConstraint
from sqlmodel import Field, SQLModel


class EventRow(SQLModel, table=True):
    """One event of one stream."""

    __tablename__ = "events"
    __table_args__ = (UniqueConstraint("stream", "seq"),)

    id: int | None = Field(default=None, primary_key=True)
    stream: str
    seq: int
    at: str
    by: str
    kind: str
    hash: str
    canonical: bytes = Field(sa_type=LargeBinary)


class ReceiptRow(SQLModel, table=True):
    """The answer that was given to one key of one stream, so that asking twice acts once."""

    __tablename__ = "receipts"

    stream: str = Field(primary_key=True)
    key: str = Field(primary_key=True)
    fingerprint: str
    answer: str


class TextRow(SQLModel, table=True):
    """The exact bytes of a procedure, found by their SHA-256."""

    __tablename__ = "texts"

    sha256: str = Field(primary_key=True)
    content: bytes = Field(sa_type=LargeBinary)


EVENTS = SQLModel.metadata.tables["events"]
RECEIPTS = SQLModel.metadata.tables["receipts"]
TEXTS = SQLModel.metadata.tables["texts"]
