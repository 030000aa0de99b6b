"""The printable page: one self-contained HTML document to check, sign and file."""

from __future__ import annotations

from datetime import date
from importlib import resources

from loadlib_service.compare import Comparison
from loadlib_service.worksheet import AUTHORITY, Worksheet

__all__ = ["page"]


def page(found: Comparison, *, name: str = "", printed_on: date | None = None) -> str:
    """HTML of every worksheet of a comparison, with room for signature and licence number.

    No script, no outside file; everything that came from a person or a file is escaped.
    ``printed_on`` is left blank when not given, so that the same facts give the same page.
    """
    import base64
    import hashlib

    from jinja2 import Environment, StrictUndefined
    from markupsafe import Markup

    folder = resources.files("loadlib_service")
    css = folder.joinpath("page.css").read_text("utf-8")
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True)
    environment.filters["amount"] = _amount
    text = folder.joinpath("page.html").read_text("utf-8")
    return environment.from_string(text).render(
        # Our own style sheet, so not escaped; the policy names it by its hash and allows no other.
        css=Markup(css),
        css_hash=base64.b64encode(hashlib.sha256(css.encode()).digest()).decode(),
        found=found,
        name=name or _name(found),
        printed_on=printed_on.isoformat() if printed_on else "",
        sheets=[sheet for row in found.rows for sheet in row.sheets],
        added=any(len(row.sheets) > 1 for row in found.rows),
        authority=AUTHORITY,
    )


def _amount(value: float, digits: int = 0) -> str:
    return f"{value:,.{digits}f}"


def _name(found: Comparison) -> str:
    sheets: list[Worksheet] = [sheet for row in found.rows for sheet in row.sheets]
    return next((sheet.name for sheet in sheets if sheet.name), "")
