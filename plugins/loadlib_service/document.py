"""Worksheets and comparisons as plain values for JSON; every number has its unit in its key."""

from __future__ import annotations

from typing import Any

from loadlib_service.compare import Comparison, Row
from loadlib_service.cooking import Demand
from loadlib_service.nonus import DiversitySheet, GroupDemand
from loadlib_service.worksheet import Line, Worksheet

__all__ = [
    "comparison_document",
    "demand_document",
    "diversity_document",
    "group_document",
    "worksheet_document",
]


def _line(line: Line) -> dict[str, Any]:
    return {
        "key": line.key,
        "text": line.text,
        "quantity": line.quantity,
        "rule": line.rule,
        "section": line.section,
        "va": line.va,
        "counted": line.counted,
        "subtotal_va": line.subtotal_va,
        "doubts": list(line.doubts),
    }


def worksheet_document(sheet: Worksheet) -> dict[str, Any]:
    """A worksheet as a dictionary that JSON can hold."""
    return {
        "method": sheet.method,
        "title": sheet.title,
        "code": "NFPA 70 (NEC)",
        "edition": sheet.edition,
        "section": sheet.section,
        "name": sheet.name,
        "supply": sheet.supply.name,
        "facts": dict(sheet.facts),
        "lines": [_line(line) for line in sheet.lines],
        "total_va": sheet.total_va,
        "leg_current_a": dict(sheet.legs_a),
        "leg_lines": [
            {
                "text": line.text,
                "leg_current_a": list(line.legs_a),
                "neutral_current_a": line.neutral_a,
            }
            for line in sheet.leg_lines
        ],
        "line_current_a": sheet.line_a,
        "next_standard_rating_a": sheet.next_rating_a,
        "service_rating_a": sheet.service_rating_a,
        "neutral_lines": [_line(line) for line in sheet.neutral_lines],
        "neutral_va": sheet.neutral_va,
        "neutral_current_a": sheet.neutral_a,
        "results": dict(sheet.results),
        "choices": list(sheet.choices),
        "doubts": list(sheet.doubts),
        "cautions": list(sheet.cautions),
    }


def _row(row: Row) -> dict[str, Any]:
    return {
        "method": row.method,
        "section": row.section,
        "before_va": row.old_va,
        "after_va": row.new_va,
        "before_a": row.old_a,
        "after_a": row.new_a,
        "headroom_a": row.headroom_a,
        "hold_off": row.hold_off,
        "worksheets": [worksheet_document(sheet) for sheet in row.sheets],
    }


def comparison_document(found: Comparison) -> dict[str, Any]:
    """A comparison as a dictionary that JSON can hold."""
    return {
        "code": "NFPA 70 (NEC)",
        "edition": found.edition,
        "service_a": found.service_a,
        "methods": [_row(row) for row in found.rows],
        "not_used": [{"method": name, "reason": why} for name, why in found.refused],
        "differences": list(found.words),
    }


def demand_document(demand: Demand, edition: str) -> dict[str, Any]:
    """A demand by a table as a dictionary that JSON can hold."""
    return {
        "code": "NFPA 70 (NEC)",
        "edition": edition,
        "demand_va": demand.va,
        "steps": list(demand.steps),
        "ways_va": dict(demand.ways),
        "doubts": list(demand.doubts(edition)),
    }


def diversity_document(sheet: DiversitySheet) -> dict[str, Any]:
    """A sheet of the 230 V rule as a dictionary that JSON can hold."""
    return {
        "label": sheet.label,
        "volts_v": sheet.volts,
        "lines": [
            {
                "purpose": line.purpose,
                "text": line.text,
                "connected_a": line.connected_a,
                "assumed_a": line.assumed_a,
                "rule": line.rule,
            }
            for line in sheet.lines
        ],
        "connected_a": sheet.connected_a,
        "assumed_a": sheet.assumed_a,
        "remarks": list(sheet.remarks),
    }


def group_document(found: GroupDemand) -> dict[str, Any]:
    """Demand of a group as a dictionary that JSON can hold."""
    return {
        "label": found.label,
        "consumers": found.consumers,
        "own_peak_w": found.own_peak_w,
        "coincidence_share": found.coincidence,
        "group_peak_w": found.group_peak_w,
        "after_diversity_w": found.after_diversity_w,
        "remarks": list(found.remarks),
    }
