"""The people of a site: their roles, their secrets' hashes, their wrong tries, their sessions."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "people",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.Column("secret_hash", sa.String(), nullable=False),
    )
    op.create_table(
        "person_roles",
        sa.Column("person", sa.String(), sa.ForeignKey("people.id"), primary_key=True),
        sa.Column("role", sa.String(), primary_key=True),
    )
    op.create_table(
        "lockouts",
        sa.Column("person", sa.String(), sa.ForeignKey("people.id"), primary_key=True),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("locks", sa.Integer(), nullable=False),
        sa.Column("until", sa.String(), nullable=False),
    )
    op.create_table(
        "sessions",
        sa.Column("token_hash", sa.String(), primary_key=True),
        sa.Column("device", sa.String(), nullable=False),
        sa.Column("entering", sa.String(), nullable=False),
    )
    op.create_table(
        "session_people",
        sa.Column(
            "token_hash", sa.String(), sa.ForeignKey("sessions.token_hash"), primary_key=True
        ),
        sa.Column("person", sa.String(), sa.ForeignKey("people.id"), primary_key=True),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("until", sa.String(), nullable=False),
    )
    # A person stands behind signatures in the record: retired, never removed.
    op.execute(
        "CREATE TRIGGER person_refuses_delete BEFORE DELETE ON people "
        "BEGIN SELECT RAISE(ABORT, 'a person is retired, never removed'); END"
    )
