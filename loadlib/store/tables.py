"""The tables, as SQLAlchemy Core metadata at the newest schema.

Texts default to "" rather than NULL; NULL means "not known" for numbers and dates.
``origin`` is ``seed`` for what ships and ``user`` for what a person changed; where both
have a row for one thing the user's counts. The full-text tables are derived data and
stand in ``search_index``.
"""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    CheckConstraint,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    UniqueConstraint,
    text,
)

__all__ = ["metadata"]

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)


def _key() -> Column[int]:
    return Column("id", Integer, primary_key=True)


def _text(name: str) -> Column[str]:
    return Column(name, String, nullable=False, server_default=text("''"))


def _number(name: str) -> Column[float]:
    return Column(name, Float, nullable=False)


def _number_or_unknown(name: str) -> Column[float]:
    return Column(name, Float, nullable=True)


def _flag(name: str) -> Column[bool]:
    return Column(name, Boolean, nullable=False, server_default=text("0"))


def _count(name: str, default: int = 0) -> Column[int]:
    return Column(name, Integer, nullable=False, server_default=text(str(default)))


def _parent(table: str) -> Column[int]:
    return Column(
        f"{table}_id", Integer, ForeignKey(f"{table}.id", ondelete="CASCADE"), nullable=False
    )


def _origin() -> Column[str]:
    return Column("origin", String, nullable=False, server_default=text("'seed'"))


def _known_origin() -> CheckConstraint:
    return CheckConstraint("origin IN ('seed', 'user')", name="origin")


# --- state of the file ---------------------------------------------------------------------

state = Table(
    "state",
    metadata,
    Column("key", String, primary_key=True),
    Column("value", String, nullable=False),
)
"""Hash and stamp of the shipped tables that were loaded."""

# --- catalog -------------------------------------------------------------------------------

source = Table(
    "source",
    metadata,
    Column("source", String, primary_key=True),
    _text("citation"),
    _text("locator"),
    _text("licence"),
    _text("note"),
)

use_profile = Table(
    "use_profile",
    metadata,
    Column("use_profile", String, primary_key=True),
    Column("by_hour", String, nullable=False),  # JSON, 24 numbers, mean 1
    _text("source"),
    _text("obtained"),
    _text("note"),
)

season = Table(
    "season",
    metadata,
    Column("season", String, primary_key=True),
    Column("by_month", String, nullable=False),  # JSON, 12 numbers, mean 1
    _text("source"),
    _text("obtained"),
    _text("note"),
)

category = Table(
    "category",
    metadata,
    _key(),
    Column("category", String, nullable=False, unique=True),
    Column("name", String, nullable=False),
    _text("group_name"),
    _text("kind"),
    _flag("thermostatic"),
    _flag("medical"),
    _number("voltage_v"),
    _count("poles", 1),
    _text("use_profile"),
    _text("season"),
    _text("label_rule"),
    _text("note"),
    _text("alias_text"),  # the aliases, one a line, for the full-text index
)

category_alias = Table(
    "category_alias",
    metadata,
    _key(),
    _parent("category"),
    Column("alias", String, nullable=False),
    Column("folded", String, nullable=False, index=True),
    _origin(),
    UniqueConstraint("category_id", "folded"),
    _known_origin(),
)

category_value = Table(
    "category_value",
    metadata,
    _key(),
    _parent("category"),
    Column("quantity", String, nullable=False),
    _number("low"),
    _number("typical"),
    _number("high"),
    _text("unit"),
    _text("basis"),
    _text("conditions"),
    _text("source"),
    _text("obtained"),
    _text("note"),
    _origin(),
    UniqueConstraint("category_id", "quantity", "origin"),
    CheckConstraint("low <= typical AND typical <= high", name="rising"),
    _known_origin(),
)

word = Table("word", metadata, _key(), Column("word", String, nullable=False, unique=True))
"""Every word of the names and aliases once: where a mistyped word looks for its neighbours."""

# --- houses --------------------------------------------------------------------------------

house = Table(
    "house",
    metadata,
    _key(),
    Column("name", String(collation="NOCASE"), nullable=False),
    Column("system", String, nullable=False),
    _number_or_unknown("service_a"),
    _number_or_unknown("area_ft2"),
    _text("timezone"),
    _text("note"),
    Column("changed_at", String, nullable=False),
    Column("removed_at", String, nullable=True),
    Index("uq_house_name_live", "name", unique=True, sqlite_where=text("removed_at IS NULL")),
)

room = Table(
    "room",
    metadata,
    _key(),
    _parent("house"),
    _count("position"),
    Column("name", String, nullable=False),
    Index("ix_room_house_id", "house_id"),
)

circuit = Table(
    "circuit",
    metadata,
    _key(),
    _parent("house"),
    _count("position"),
    Column("name", String, nullable=False),
    _text("slots"),  # JSON list of numbers
    _text("legs"),
    _number_or_unknown("breaker_a"),
    _flag("leg_guessed"),
    _text("depends_on"),  # JSON list of names
    _text("note"),
    UniqueConstraint("house_id", "name"),
)

appliance = Table(
    "appliance",
    metadata,
    _key(),
    _parent("house"),
    _count("position"),
    Column("appliance", String, nullable=False),
    Column("name", String, nullable=False),
    _text("category"),
    _count("how_many", 1),
    _text("room"),
    _text("label"),
    _text("circuit"),
    _text("legs"),
    _text("priority"),
    _flag("medical"),
    _number_or_unknown("may_be_off_s"),
    _text("if_off"),
    _number_or_unknown("running_low_w"),
    _number_or_unknown("running_typical_w"),
    _number_or_unknown("running_high_w"),
    _text("note"),
    UniqueConstraint("house_id", "appliance"),
)

change = Table(
    "change",
    metadata,
    _key(),
    _parent("house"),
    Column("at", String, nullable=False),
    Column("what", String, nullable=False),
    Column("before", LargeBinary, nullable=False),
    Column("after", LargeBinary, nullable=False),
    _text("place_before"),  # a renamed circuit's place in the evidence
    _text("place_after"),
    _flag("undone"),
    Index("ix_change_house_id", "house_id"),
)
"""The journal: the house before and after each change (compressed JSON)."""

# --- evidence ------------------------------------------------------------------------------

import_ = Table(
    "import",
    metadata,
    _key(),
    _parent("house"),
    Column("at", String, nullable=False),
    _text("file_name"),
    _text("sha256"),
    _text("reader"),
    _text("notes"),  # JSON list of texts
    Index("ix_import_house_id", "house_id"),
)

bill = Table(
    "bill",
    metadata,
    _key(),
    _parent("house"),
    _parent("import"),
    Column("first_day", String, nullable=False),
    Column("day_after", String, nullable=False),
    _number("energy_wh"),
    _number_or_unknown("cost"),
    _flag("estimated"),
    _text("source"),
    Column("replaced_by", Integer, ForeignKey("import.id", ondelete="SET NULL"), nullable=True),
    CheckConstraint("first_day < day_after", name="period"),
    Index("ix_bill_house_id", "house_id"),
    Index("ix_bill_import_id", "import_id"),
    Index("ix_bill_replaced_by", "replaced_by"),
)

channel = Table(
    "channel",
    metadata,
    _key(),
    _parent("house"),
    Column("channel", String, nullable=False),
    _text("place"),
    Column("flow", String, nullable=False),
    Column("step_s", Integer, nullable=False),
    Column("phase_s", Integer, nullable=False),  # start of a slot modulo its step
    _text("timezone"),
    UniqueConstraint("house_id", "channel", "place", "flow", "step_s", "phase_s"),
    CheckConstraint("step_s > 0", name="step"),
)
"""One measured quantity at one place on one grid; ``flow`` is also ``outdoor_c``."""

series_part = Table(
    "series_part",
    metadata,
    _key(),
    _parent("channel"),
    _parent("import"),
    _text("source"),
    _text("notes"),  # JSON list of texts
    UniqueConstraint("channel_id", "import_id"),
    Index("ix_series_part_import_id", "import_id"),
)
"""What one import gave to one channel."""

series_block = Table(
    "series_block",
    metadata,
    _key(),
    _parent("series_part"),
    Column("month", Integer, nullable=False),  # UTC, year × 100 + month
    Column("start_s", Integer, nullable=False),
    Column("step_s", Integer, nullable=False),
    Column("slots", Integer, nullable=False),
    Column("packed", LargeBinary, nullable=False),
    UniqueConstraint("series_part_id", "start_s"),
)
"""A stretch of one part within a UTC month: float32 values, packed by ``blocks``."""

reading = Table(
    "reading",
    metadata,
    _key(),
    _parent("house"),
    Column("place", String, nullable=False),
    Column("fields", String, nullable=False),  # JSON of the other fields of the core Reading
    Index("ix_reading_house_id", "house_id"),
)

plugin_file = Table(
    "plugin_file",
    metadata,
    _key(),
    _parent("house"),
    Column("plugin", String, nullable=False),
    Column("path", String, nullable=False),
    UniqueConstraint("house_id", "plugin", "path"),
)
