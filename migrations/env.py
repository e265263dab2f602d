"""Alembic's way in: the ledger hands over its own connection, inside a transaction."""

from __future__ import annotations

from alembic import context

context.configure(connection=context.config.attributes["connection"])
context.run_migrations()
