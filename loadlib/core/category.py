"""Category: one generic kind of appliance as the catalog knows it."""

from __future__ import annotations

from dataclasses import dataclass

from loadlib.core.ranges import Range

__all__ = ["Category", "SourcedValue"]


@dataclass(frozen=True, slots=True)
class SourcedValue:
    """One value of the catalog with where it came from.

    ``obtained`` is one of read_in_source, cross_checked_by_two_pages,
    measured_from_dataset, derived_from_rule, from_memory, entered_by_user.
    """

    quantity: str
    value: Range
    unit: str
    basis: str
    conditions: str
    source: str
    citation: str
    obtained: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Category:
    """A generic kind of appliance: what it draws while on, how it starts, when it is on.

    ``start_multiplier`` is the whole start over the running figure named by
    ``start_basis``; the two never part. ``use_by_hour`` (24) and ``use_by_month`` (12)
    are relative, mean 1. ``label_share`` is the share of the label's VA (or W) that the
    appliance really draws while on. Volts in V, powers in W, ``annual_wh`` in Wh.
    """

    category: str
    name: str
    group: str
    kind: str
    thermostatic: bool
    medical: bool
    voltage_v: float
    poles: int
    running_w: Range
    power_factor: Range
    start_multiplier: Range
    start_basis: str
    start_s: Range
    duty_share: Range
    on_s: Range
    cycles_per_day: Range
    standby_w: Range
    annual_wh: Range
    label_share: Range
    label_rule: str
    use_by_hour: tuple[float, ...]
    use_by_month: tuple[float, ...]
    aliases: tuple[str, ...] = ()
    note: str = ""
    values: tuple[SourcedValue, ...] = ()

    def value(self, quantity: str) -> SourcedValue | None:
        """The sourced row behind ``quantity``, or None."""
        return next((row for row in self.values if row.quantity == quantity), None)
