"""The rows of the people's tables. A row is not a domain type: nothing outside this package sees one.

Times stand as the ledger writes them, so that they sort as text and keep their zone.
"""

from __future__ import annotations

from sqlmodel import Field, SQLModel


class PersonRow(SQLModel, table=True):
    """Someone known to the site; never deleted, only retired."""

    __tablename__ = "people"

    id: str = Field(primary_key=True)
    name: str
    active: bool = True
    secret_hash: str  # argon2id, with its salt and strength


class RoleRow(SQLModel, table=True):
    """One role that a person holds."""

    __tablename__ = "person_roles"

    person: str = Field(primary_key=True, foreign_key="people.id")
    role: str = Field(primary_key=True)


class LockoutRow(SQLModel, table=True):
    """A person's wrong tries since the last right one; no row when there are none."""

    __tablename__ = "lockouts"

    person: str = Field(primary_key=True, foreign_key="people.id")
    tries: int  # wrong ones since the last lock
    locks: int  # since the last right secret
    until: str  # "" when never locked


class SessionRow(SQLModel, table=True):
    """One tablet's session; of its token only the SHA-256 is kept."""

    __tablename__ = "sessions"

    token_hash: str = Field(primary_key=True)
    device: str
    entering: str  # a person's id, "" when nobody


class SessionPersonRow(SQLModel, table=True):
    """One person signed on at one tablet, until their shift ends."""

    __tablename__ = "session_people"

    token_hash: str = Field(primary_key=True, foreign_key="sessions.token_hash")
    person: str = Field(primary_key=True, foreign_key="people.id")
    place: int  # the order in which they signed on
    until: str


class HandsRow(SQLModel, table=True):
    """From when on one person was entering at one tablet; rows are only added."""

    __tablename__ = "hands"

    number: int | None = Field(default=None, primary_key=True)
    device: str
    token_hash: str
    person: str  # "" when nobody
    since: str
    until: str  # the end of their shift


PEOPLE = SQLModel.metadata.tables["people"]
ROLES = SQLModel.metadata.tables["person_roles"]
LOCKOUTS = SQLModel.metadata.tables["lockouts"]
SESSIONS = SQLModel.metadata.tables["sessions"]
STAYS = SQLModel.metadata.tables["session_people"]
HANDS = SQLModel.metadata.tables["hands"]
