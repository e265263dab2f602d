"""Who was entering at each tablet, and from when to when: entries that a tablet kept come later."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "hands",
        sa.Column("number", sa.Integer(), primary_key=True, autoincrement=True),
        sa.Column("device", sa.String(), nullable=False),
        sa.Column("token_hash", sa.String(), nullable=False),
        sa.Column("person", sa.String(), nullable=False),
        sa.Column("since", sa.String(), nullable=False),
        sa.Column("until", sa.String(), nullable=False),
    )
    op.create_index("hands_of_a_tablet", "hands", ["device", "number"])
    op.create_index("hands_by_token", "hands", ["token_hash"])
    for change in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER hands_refuse_{change.lower()} BEFORE {change} ON hands "
            "BEGIN SELECT RAISE(ABORT, 'who was entering stays as it was'); END"
        )
