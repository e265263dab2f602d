"""Events, receipts and texts only grow: nothing in them is updated, deleted or replaced.

`INSERT OR REPLACE` deletes without asking a DELETE trigger, unless the connection has recursive
triggers on; so what is there already is refused before the insert as well.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

NOT_NEXT = """
CREATE TRIGGER events_follow_each_other BEFORE INSERT ON events
WHEN NEW.seq IS NOT (SELECT coalesce(max(seq), 0) + 1 FROM events WHERE stream = NEW.stream)
  OR EXISTS (SELECT 1 FROM events WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'an event takes the next number of its stream'); END
"""

KEPT_ALREADY = """
CREATE TRIGGER {table}_are_never_replaced BEFORE INSERT ON {table}
WHEN EXISTS (SELECT 1 FROM {table} WHERE {same})
BEGIN SELECT RAISE(ABORT, '{table} are never replaced'); END
"""

NEVER = """
CREATE TRIGGER {table}_are_never_{done} BEFORE {act} ON {table}
BEGIN SELECT RAISE(ABORT, '{table} are never {done}'); END
"""


def upgrade() -> None:
    """Make the three tables and the triggers that guard them."""
    op.create_table(
        "events",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("stream", sa.Text, nullable=False),
        sa.Column("seq", sa.Integer, nullable=False),
        sa.Column("at", sa.Text, nullable=False),
        sa.Column("by", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("hash", sa.Text, nullable=False),
        sa.Column("canonical", sa.LargeBinary, nullable=False),
        sa.UniqueConstraint("stream", "seq"),
    )
    op.create_table(
        "receipts",
        sa.Column("stream", sa.Text, primary_key=True),
        sa.Column("key", sa.Text, primary_key=True),
        sa.Column("fingerprint", sa.Text, nullable=False),
        sa.Column("answer", sa.Text, nullable=False),
    )
    op.create_table(
        "texts",
        sa.Column("sha256", sa.Text, primary_key=True),
        sa.Column("content", sa.LargeBinary, nullable=False),
    )
    op.execute(NOT_NEXT)
    same = {"receipts": "stream = NEW.stream AND key = NEW.key", "texts": "sha256 = NEW.sha256"}
    for table, rows in same.items():
        op.execute(KEPT_ALREADY.format(table=table, same=rows))
    for table in ("events", "receipts", "texts"):
        op.execute(NEVER.format(table=table, done="updated", act="UPDATE"))
        op.execute(NEVER.format(table=table, done="deleted", act="DELETE"))
