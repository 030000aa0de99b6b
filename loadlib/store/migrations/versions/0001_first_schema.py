"""First schema: catalog, houses with their journal, evidence.

Revision ID: 0001
Revises:
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    _catalog()
    _houses()
    _evidence()


def _catalog() -> None:
    op.create_table(
        "state",
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("value", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_state")),
    )
    op.create_table(
        "source",
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("citation", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("locator", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("licence", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("note", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.PrimaryKeyConstraint("source", name=op.f("pk_source")),
    )
    op.create_table(
        "use_profile",
        sa.Column("use_profile", sa.String(), nullable=False),
        sa.Column("by_hour", sa.String(), nullable=False),
        sa.Column("source", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("obtained", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("note", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.PrimaryKeyConstraint("use_profile", name=op.f("pk_use_profile")),
    )
    op.create_table(
        "season",
        sa.Column("season", sa.String(), nullable=False),
        sa.Column("by_month", sa.String(), nullable=False),
        sa.Column("source", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("obtained", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("note", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.PrimaryKeyConstraint("season", name=op.f("pk_season")),
    )
    op.create_table(
        "category",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("category", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("group_name", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("kind", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("thermostatic", sa.Boolean(), server_default=sa.text("0"), nullable=False),
        sa.Column("medical", sa.Boolean(), server_default=sa.text("0"), nullable=False),
        sa.Column("voltage_v", sa.Float(), nullable=False),
        sa.Column("poles", sa.Integer(), server_default=sa.text("1"), nullable=False),
        sa.Column("use_profile", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("season", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("label_rule", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("note", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("alias_text", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_category")),
        sa.UniqueConstraint("category", name=op.f("uq_category_category")),
    )
    op.create_table(
        "category_alias",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("category_id", sa.Integer(), nullable=False),
        sa.Column("alias", sa.String(), nullable=False),
        sa.Column("folded", sa.String(), nullable=False),
        sa.Column("origin", sa.String(), server_default=sa.text("'seed'"), nullable=False),
        sa.CheckConstraint("origin IN ('seed', 'user')", name=op.f("ck_category_alias_origin")),
        sa.ForeignKeyConstraint(
            ["category_id"],
            ["category.id"],
            name=op.f("fk_category_alias_category_id_category"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_category_alias")),
        sa.UniqueConstraint(
            "category_id", "folded", name=op.f("uq_category_alias_category_id_folded")
        ),
    )
    op.create_index(op.f("ix_category_alias_folded"), "category_alias", ["folded"], unique=False)
    op.create_table(
        "category_value",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("category_id", sa.Integer(), nullable=False),
        sa.Column("quantity", sa.String(), nullable=False),
        sa.Column("low", sa.Float(), nullable=False),
        sa.Column("typical", sa.Float(), nullable=False),
        sa.Column("high", sa.Float(), nullable=False),
        sa.Column("unit", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("basis", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("conditions", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("source", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("obtained", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("note", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("origin", sa.String(), server_default=sa.text("'seed'"), nullable=False),
        sa.CheckConstraint("origin IN ('seed', 'user')", name=op.f("ck_category_value_origin")),
        sa.CheckConstraint(
            "low <= typical AND typical <= high", name=op.f("ck_category_value_rising")
        ),
        sa.ForeignKeyConstraint(
            ["category_id"],
            ["category.id"],
            name=op.f("fk_category_value_category_id_category"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_category_value")),
        sa.UniqueConstraint(
            "category_id",
            "quantity",
            "origin",
            name=op.f("uq_category_value_category_id_quantity_origin"),
        ),
    )
    op.create_table(
        "word",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("word", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_word")),
        sa.UniqueConstraint("word", name=op.f("uq_word_word")),
    )


def _houses() -> None:
    op.create_table(
        "house",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(collation="NOCASE"), nullable=False),
        sa.Column("system", sa.String(), nullable=False),
        sa.Column("service_a", sa.Float(), nullable=True),
        sa.Column("area_ft2", sa.Float(), nullable=True),
        sa.Column("timezone", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("note", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("changed_at", sa.String(), nullable=False),
        sa.Column("removed_at", sa.String(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_house")),
    )
    op.create_index(
        "uq_house_name_live",
        "house",
        ["name"],
        unique=True,
        sqlite_where=sa.text("removed_at IS NULL"),
    )
    op.create_table(
        "room",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("house_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), server_default=sa.text("0"), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["house_id"], ["house.id"], name=op.f("fk_room_house_id_house"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_room")),
    )
    op.create_index("ix_room_house_id", "room", ["house_id"], unique=False)
    op.create_table(
        "circuit",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("house_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), server_default=sa.text("0"), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("slots", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("legs", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("breaker_a", sa.Float(), nullable=True),
        sa.Column("leg_guessed", sa.Boolean(), server_default=sa.text("0"), nullable=False),
        sa.Column("depends_on", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("note", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.ForeignKeyConstraint(
            ["house_id"], ["house.id"], name=op.f("fk_circuit_house_id_house"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_circuit")),
        sa.UniqueConstraint("house_id", "name", name=op.f("uq_circuit_house_id_name")),
    )
    op.create_table(
        "appliance",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("house_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), server_default=sa.text("0"), nullable=False),
        sa.Column("appliance", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("category", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("how_many", sa.Integer(), server_default=sa.text("1"), nullable=False),
        sa.Column("room", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("label", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("circuit", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("legs", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("priority", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("medical", sa.Boolean(), server_default=sa.text("0"), nullable=False),
        sa.Column("may_be_off_s", sa.Float(), nullable=True),
        sa.Column("if_off", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("running_low_w", sa.Float(), nullable=True),
        sa.Column("running_typical_w", sa.Float(), nullable=True),
        sa.Column("running_high_w", sa.Float(), nullable=True),
        sa.Column("note", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.ForeignKeyConstraint(
            ["house_id"], ["house.id"], name=op.f("fk_appliance_house_id_house"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_appliance")),
        sa.UniqueConstraint("house_id", "appliance", name=op.f("uq_appliance_house_id_appliance")),
    )
    op.create_table(
        "change",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("house_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.String(), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("before", sa.LargeBinary(), nullable=False),
        sa.Column("after", sa.LargeBinary(), nullable=False),
        sa.Column("place_before", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("place_after", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("undone", sa.Boolean(), server_default=sa.text("0"), nullable=False),
        sa.ForeignKeyConstraint(
            ["house_id"], ["house.id"], name=op.f("fk_change_house_id_house"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_change")),
    )
    op.create_index("ix_change_house_id", "change", ["house_id"], unique=False)


def _evidence() -> None:
    op.create_table(
        "import",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("house_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.String(), nullable=False),
        sa.Column("file_name", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("sha256", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("reader", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("notes", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.ForeignKeyConstraint(
            ["house_id"], ["house.id"], name=op.f("fk_import_house_id_house"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_import")),
    )
    op.create_index("ix_import_house_id", "import", ["house_id"], unique=False)
    op.create_table(
        "bill",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("house_id", sa.Integer(), nullable=False),
        sa.Column("import_id", sa.Integer(), nullable=False),
        sa.Column("first_day", sa.String(), nullable=False),
        sa.Column("day_after", sa.String(), nullable=False),
        sa.Column("energy_wh", sa.Float(), nullable=False),
        sa.Column("cost", sa.Float(), nullable=True),
        sa.Column("estimated", sa.Boolean(), server_default=sa.text("0"), nullable=False),
        sa.Column("source", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("replaced_by", sa.Integer(), nullable=True),
        sa.CheckConstraint("first_day < day_after", name=op.f("ck_bill_period")),
        sa.ForeignKeyConstraint(
            ["house_id"], ["house.id"], name=op.f("fk_bill_house_id_house"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["import_id"], ["import.id"], name=op.f("fk_bill_import_id_import"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["replaced_by"],
            ["import.id"],
            name=op.f("fk_bill_replaced_by_import"),
            ondelete="SET NULL",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_bill")),
    )
    op.create_index("ix_bill_house_id", "bill", ["house_id"], unique=False)
    op.create_index("ix_bill_import_id", "bill", ["import_id"], unique=False)
    op.create_index("ix_bill_replaced_by", "bill", ["replaced_by"], unique=False)
    op.create_table(
        "channel",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("house_id", sa.Integer(), nullable=False),
        sa.Column("channel", sa.String(), nullable=False),
        sa.Column("place", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("flow", sa.String(), nullable=False),
        sa.Column("step_s", sa.Integer(), nullable=False),
        sa.Column("phase_s", sa.Integer(), nullable=False),
        sa.Column("timezone", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.CheckConstraint("step_s > 0", name=op.f("ck_channel_step")),
        sa.ForeignKeyConstraint(
            ["house_id"], ["house.id"], name=op.f("fk_channel_house_id_house"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_channel")),
        sa.UniqueConstraint(
            "house_id",
            "channel",
            "place",
            "flow",
            "step_s",
            "phase_s",
            name=op.f("uq_channel_house_id_channel_place_flow_step_s_phase_s"),
        ),
    )
    op.create_table(
        "series_part",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("channel_id", sa.Integer(), nullable=False),
        sa.Column("import_id", sa.Integer(), nullable=False),
        sa.Column("source", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.Column("notes", sa.String(), server_default=sa.text("''"), nullable=False),
        sa.ForeignKeyConstraint(
            ["channel_id"],
            ["channel.id"],
            name=op.f("fk_series_part_channel_id_channel"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["import_id"],
            ["import.id"],
            name=op.f("fk_series_part_import_id_import"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_series_part")),
        sa.UniqueConstraint(
            "channel_id", "import_id", name=op.f("uq_series_part_channel_id_import_id")
        ),
    )
    op.create_index("ix_series_part_import_id", "series_part", ["import_id"], unique=False)
    op.create_table(
        "series_block",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("series_part_id", sa.Integer(), nullable=False),
        sa.Column("month", sa.Integer(), nullable=False),
        sa.Column("start_s", sa.Integer(), nullable=False),
        sa.Column("step_s", sa.Integer(), nullable=False),
        sa.Column("slots", sa.Integer(), nullable=False),
        sa.Column("packed", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(
            ["series_part_id"],
            ["series_part.id"],
            name=op.f("fk_series_block_series_part_id_series_part"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_series_block")),
        sa.UniqueConstraint(
            "series_part_id", "month", name=op.f("uq_series_block_series_part_id_month")
        ),
    )
    op.create_table(
        "reading",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("house_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.String(), nullable=False),
        sa.Column("fields", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["house_id"], ["house.id"], name=op.f("fk_reading_house_id_house"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reading")),
    )
    op.create_index("ix_reading_house_id", "reading", ["house_id"], unique=False)
    op.create_table(
        "plugin_file",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("house_id", sa.Integer(), nullable=False),
        sa.Column("plugin", sa.String(), nullable=False),
        sa.Column("path", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["house_id"],
            ["house.id"],
            name=op.f("fk_plugin_file_house_id_house"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_plugin_file")),
        sa.UniqueConstraint(
            "house_id", "plugin", "path", name=op.f("uq_plugin_file_house_id_plugin_path")
        ),
    )
