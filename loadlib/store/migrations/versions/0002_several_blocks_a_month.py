"""A part may have several blocks in a month: a log of seconds is stored a stretch at a time.

Revision ID: 0002
Revises: 0001
"""

from __future__ import annotations

from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("series_block", recreate="always") as batch:
        batch.drop_constraint(op.f("uq_series_block_series_part_id_month"), type_="unique")
        batch.create_unique_constraint(
            op.f("uq_series_block_series_part_id_start_s"), ["series_part_id", "start_s"]
        )
