"""Claims of a heat-pump log: running power and duty by outdoor temperature, strips apart."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from statistics import median, quantiles

from loadlib import Evidence, LoadClaim, Range, When
from loadlib_heat_pump_log.log import Log, read_log

__all__ = ["HeatPumpLog"]

BAND_C = 5
ON_W = 100.0
"""Above this the outdoor unit runs; below it is controls and crankcase heat (invented rule
of this plugin, shown in the claim's note)."""
METER_SHARE = 0.03
"""Doubt of the log's power meter, as a share; common practice, no source."""
LEAST_MINUTES = 30
STRIPS = "strip heat"


class HeatPumpLog:
    """Reads the log that the user handed over as ``--file heat_pump_log=PATH``."""

    name = "heat_pump_log"
    summary = "a heat pump's minute log, by outdoor temperature, strips apart"

    def needs(self, evidence: Evidence) -> list[str]:
        lacks = []
        if not evidence.files.get(self.name):
            lacks.append("a minute log: --file heat_pump_log=PATH")
        if not _about(evidence):
            lacks.append("a heat pump among the appliances")
        return lacks

    def claims(self, evidence: Evidence) -> Iterator[LoadClaim]:
        about = _about(evidence)
        for path in evidence.files[self.name]:
            log = read_log(path, evidence.house.timezone)
            yield from _of_pump(about, log)
            yield from _of_strips(about, log)


def _about(evidence: Evidence) -> str:
    for appliance in evidence.house.appliances:
        if appliance.category.startswith(("heat_pump", "mini_split")):
            return appliance.id
    return ""


def _source(log: Log, minutes: int) -> str:
    return f"heat pump log {log.path}, {minutes} of {len(log.watts)} minutes"


def _bands(log: Log) -> dict[int, list[int]]:
    """Rows by band of outdoor temperature: lower edge in °C -> row numbers."""
    bands: dict[int, list[int]] = {}
    for row, outdoor_c in enumerate(log.outdoor_c):
        bands.setdefault(int(outdoor_c // BAND_C) * BAND_C, []).append(row)
    return {low: rows for low, rows in sorted(bands.items()) if len(rows) >= LEAST_MINUTES}


def _spread(watts: Sequence[float]) -> Range:
    """5, 50 and 95 % of the minutes, widened by the meter's own doubt."""
    points = quantiles(watts, n=20, method="inclusive")
    low, high = points[0] * (1 - METER_SHARE), points[-1] * (1 + METER_SHARE)
    return Range(low, median(watts), high)


def _share(on: int, minutes: int) -> Range:
    """Share of the minutes, with the doubt of so many independent half hours.

    Minutes hang together, so every 30 count as one draw of a Wilson-like interval
    (Brown, Cai, DasGupta 2001, Interval estimation for a binomial proportion).
    """
    draws, z = max(1.0, minutes / 30.0), 1.645
    share = on / minutes
    centre = (share + z * z / (2 * draws)) / (1 + z * z / draws)
    half = z * (share * (1 - share) / draws + z * z / (4 * draws**2)) ** 0.5 / (1 + z * z / draws)
    low, high = max(0.0, min(share, centre - half)), min(1.0, max(share, centre + half))
    return Range(low, share, high)


def _of_pump(about: str, log: Log) -> Iterator[LoadClaim]:
    for low_c, rows in _bands(log).items():
        when = When(outdoor_c=(float(low_c), float(low_c + BAND_C)))
        running = [
            log.watts[row]
            for row in rows
            if log.watts[row] > ON_W and not log.strips[row] and not log.defrost[row]
        ]
        on = sum(log.watts[row] > ON_W for row in rows)
        source = _source(log, len(rows))
        if len(running) >= LEAST_MINUTES:
            yield LoadClaim(
                about,
                "running_w",
                _spread(running),
                source,
                when=when,
                at=log.last,
                note=f"running means above {ON_W:g} W, without defrost and strips",
            )
        yield LoadClaim(about, "duty_share", _share(on, len(rows)), source, when=when, at=log.last)
    if log.inverter:
        everything = [w for w, s in zip(log.watts, log.strips, strict=True) if w > ON_W and not s]
        if len(everything) >= LEAST_MINUTES:
            top = _spread(everything).high
            yield LoadClaim(
                about,
                "start_va",
                Range(0.9 * top, top, 1.3 * top),
                _source(log, len(everything)),
                at=log.last,
                note="inverter: starts without a step, so no more than it runs at",
            )


def _of_strips(about: str, log: Log) -> Iterator[LoadClaim]:
    """The strips as a load of their own: what the total rises by when they come on."""
    steps, per_band = [], []
    for low_c, rows in _bands(log).items():
        without = [log.watts[row] for row in rows if log.watts[row] > ON_W and not log.strips[row]]
        within = [row for row in rows if log.strips[row]]
        per_band.append((low_c, len(within), len(rows)))
        if without and within:
            base = median(without)
            steps += [log.watts[row] - base for row in within if log.watts[row] > base]
    if len(steps) < 5:
        return
    common = {"part": STRIPS, "at": log.last, "category": "heat_pump_aux_strip_heat"}
    source = _source(log, len(steps))
    yield LoadClaim(about, "running_w", _spread(steps), source, priority="off", **common)
    for low_c, on, minutes in per_band:
        when = When(outdoor_c=(float(low_c), float(low_c + BAND_C)))
        yield LoadClaim(
            about,
            "duty_share",
            _share(on, minutes),
            _source(log, minutes),
            when=when,
            priority="off",
            **common,
        )
