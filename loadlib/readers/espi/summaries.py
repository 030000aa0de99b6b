"""Usage summaries to billing periods: energy and cost side by side, never mixed."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from loadlib.core.series import BillPeriod
from loadlib.errors import DataError
from loadlib.readers.espi.codes import ESTIMATED, UNIT, is_electric
from loadlib.readers.espi.feed import Feed, Resource
from loadlib.readers.espi.meters import local_time, number, owner_of
from loadlib.readers.local import Clock, clock_for
from loadlib.readers.remarks import counted

__all__ = ["billing_periods", "period_days"]

_SUMMARIES = ("UsageSummary", "ElectricPowerUsageSummary")
_PER_CURRENCY = 100_000
_MIDNIGHT_WITHIN_S = 2 * 3600


def billing_periods(feed: Feed, timezone: str, notes: list[str]) -> list[BillPeriod]:
    """Billing periods of electricity in the summaries of a feed, in order of time.

    A summary without a billing period or without its energy is counted in the notes.
    """
    found: dict[tuple[date, date], BillPeriod] = {}
    bare = 0
    for summary in feed.resources:
        if summary.kind not in _SUMMARIES or not _is_electric(feed, summary, notes):
            continue
        period = _period(feed, summary, timezone, notes)
        if period is None:
            bare += 1
        else:
            found[period.first_day, period.day_after] = period
    if bare:
        notes.append(f"{counted(bare, 'summary')} without billing period or energy in Wh: left out")
    return [found[key] for key in sorted(found)]


def period_days(clock: Clock, start_s: int, duration_s: int) -> tuple[date, date]:
    """First day and day after the last of a period, by local midnights.

    An end or start within two hours of midnight belongs to that midnight, so that a period
    written without its daylight-saving hour, or one that ends at 23:59:59, keeps its days.
    """
    return _nearest_day(clock.local(start_s)), _nearest_day(clock.local(start_s + duration_s))


def _nearest_day(local: datetime) -> date:
    midnight = local.replace(hour=0, minute=0, second=0, microsecond=0)
    into_day_s = (local - midnight).total_seconds()
    late = into_day_s >= 86_400 - _MIDNIGHT_WITHIN_S
    return local.date() + timedelta(days=1) if late else local.date()


def _is_electric(feed: Feed, summary: Resource, notes: list[str]) -> bool:
    points = [resource for resource in feed.resources if resource.kind == "UsagePoint"]
    point = owner_of(summary, points, [])
    service = number(point, "ServiceCategory/kind")
    electric, what = is_electric(service, number(summary, "commodity"))
    if not electric:
        notes.append(f"a usage summary of {what}: left out")
    return electric


def _period(feed: Feed, summary: Resource, timezone: str, notes: list[str]) -> BillPeriod | None:
    start_s = number(summary, "billingPeriod/start")
    duration_s = number(summary, "billingPeriod/duration")
    energy = _energy_wh(feed, summary)
    if start_s is None or not duration_s or energy is None:
        return None
    points = [resource for resource in feed.resources if resource.kind == "UsagePoint"]
    local = local_time(feed, owner_of(summary, points, []) or summary, [])
    clock = clock_for(timezone, local, feed.path, "days of a billing period")
    first, after = _days(feed, summary, clock, start_s, duration_s)
    cost = number(summary, "billLastPeriod")
    if first >= after:
        notes.append(f"a billing period of {duration_s / 3600:g} h: left out")
        return None
    return BillPeriod(
        first_day=first,
        day_after=after,
        energy_wh=energy,
        cost=None if cost is None else cost / _PER_CURRENCY,
        estimated=number(summary, "qualityOfReading") in ESTIMATED,
        source=f"{feed.path}: usage summary",
    )


def _days(
    feed: Feed, summary: Resource, clock: Clock, start_s: int, duration_s: int
) -> tuple[date, date]:
    try:
        return period_days(clock, start_s, duration_s)
    except (OverflowError, ValueError, OSError):
        raise DataError(
            f"billing period from {start_s} for {duration_s} s", path=feed.path, line=summary.line
        ) from None


def _energy_wh(feed: Feed, summary: Resource) -> float | None:
    measured = "overallConsumptionLastPeriod"
    value = number(summary, f"{measured}/value")
    unit = UNIT.get(number(summary, f"{measured}/uom") or 0)
    if value is None or unit != "Wh":
        return None
    power = number(summary, f"{measured}/powerOfTenMultiplier") or 0
    if not -12 <= power <= 12:
        raise DataError(f"multiplier 10^{power}", path=feed.path, line=summary.line)
    return float(value) * 10.0**power
