"""The page: one HTML file without scripts from elsewhere, fonts, or any request."""

from __future__ import annotations

import base64
import hashlib
import re
from dataclasses import dataclass
from importlib import resources
from typing import Any

from loadlib import LoadProfile, cautions, figures
from loadlib_report import pictures, tables
from loadlib_report.answer import answer
from loadlib_report.loads import believed, load_rows
from loadlib_report.overloads import Overloads, duration, overloads

__all__ = ["page"]

FIRST_LOADS = 40
"""Loads that stand in the table at once; the others open on demand."""

MOST_IN_LINK = 1_300_000
"""Letters of base64 that a link may hold: Chromium refuses data links above 2 MiB."""

# Whatever the terminal or the parser of a browser would trip over; tabs and line ends stay.
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")


@dataclass(frozen=True, slots=True)
class Plate:
    """A picture with the words below it and the table behind it."""

    name: str
    picture: pictures.Picture
    caption: str
    table: tables.Table


def page(profile: LoadProfile, *, month: int | None = None) -> str:
    """The page about a profile.

    Parameters
    ----------
    profile : LoadProfile
        any profile; what it lacks is left out and said.
    month : int or None
        month (1 to 12) of the day curves; None takes the one with most energy.

    Returns
    -------
    str
        HTML, the same for the same profile. It asks nothing of the network; the document
        itself is inside. A script (our own, a few lines) is there only when the document is
        too long for a link.
    """
    from jinja2 import Environment, StrictUndefined
    from markupsafe import Markup

    folder = resources.files("loadlib_report")
    css = folder.joinpath("page.css").read_text("utf-8") + figures.CSS
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True,
        finalize=_without_controls,
    )  # fmt: skip
    template = environment.from_string(folder.joinpath("page.html.j2").read_text("utf-8"))
    document = _document(profile, folder.joinpath("save.js").read_text("utf-8"))
    # Our own style sheet and script are not escaped; the policy names each by its hash.
    return template.render(
        css=Markup(css),
        css_hash=_hash(css),
        svg=Markup,
        **_contents(profile, month),
        **{key: Markup(text) if key in ("json", "script") else text for key, text in document},
    )


def _contents(profile: LoadProfile, month: int | None) -> dict[str, Any]:
    found = overloads(profile)
    heard = believed(profile)
    loads = {load.id for load in profile.loads}
    rows = load_rows(profile, heard)
    at = month or _hungriest(profile)
    return {
        "profile": profile,
        "sentences": answer(profile, found),
        "month": tables.MONTHS[at - 1],
        "peaks": tables.peaks_table(profile),
        "energy": _energy_plates(profile),
        "hours": _hour_plates(profile, at),
        "starts": _start_plates(profile),
        "sizes": [] if found is None else _size_plates(found),
        "rows": rows[:FIRST_LOADS],
        "more_rows": rows[FIRST_LOADS:],
        "about_demand": [claim for claim in heard if claim.about not in loads],
        "doubted": [claim for claim in heard if claim.doubted],
        "cautions": list(dict.fromkeys((*cautions.SOURCE, *profile.cautions))),
        "survey": cautions.SURVEY,
        "clamp": cautions.CLAMP,
    }


def _hungriest(profile: LoadProfile) -> int:
    energy = profile.energy_wh_by_month
    return max(range(len(energy)), key=lambda m: energy[m].typical, default=0) + 1


def _energy_plates(profile: LoadProfile) -> list[Plate]:
    if len(profile.energy_wh_by_month) != 12:
        return []
    caption = "Bars are typical months; the lines run from the 5 % to the 95 % point of the belief."
    return [Plate("months", pictures.months(profile), caption, tables.months_table(profile))]


def _hour_plates(profile: LoadProfile, month: int) -> list[Plate]:
    places = [demand.place for demand in profile.demand]
    plates = []
    if "whole" in places:
        plates.append(
            Plate(
                "map", pictures.month_hour(profile),
                "Mean demand of the whole house. Darker (in dark mode: lighter) is more; the "
                "framed hour is the highest.",
                tables.map_table(profile),
            )
        )  # fmt: skip
    for number, place in enumerate(places):
        plates.append(
            Plate(
                f"day{number}", pictures.day(profile, place, month, number),
                f"{_upper(tables.place_words(place))} in {tables.MONTHS[month - 1]}: the "
                "line is the mean; demand lies in the band nine moments in ten and passes the "
                "dotted line 1 % of the time. That is spread over time, at typical values; "
                "doubt about the values comes on top.",
                tables.days_table(profile, place, month),
            )
        )  # fmt: skip
    curve = duration(profile)
    if curve is not None:
        plates.append(
            Plate(
                "duration", pictures.duration(curve),
                "How much of the year demand at an instant is above a power, whole house, at "
                "typical values.",
                tables.duration_table(curve),
            )
        )  # fmt: skip
    return plates


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def _start_plates(profile: LoadProfile) -> list[Plate]:
    if not profile.loads:
        return []
    caption = (
        "Dots are typical, bars run from the 5 % to the 95 % point; the upright mark is what the "
        "load draws while running. A start comes on top of whatever runs already."
    )
    return [Plate("starts", pictures.starts(profile), caption, tables.starts_table(profile))]


def _size_plates(found: Overloads) -> list[Plate]:
    caption = (
        "Expected number of times that demand rises above what the source gives steadily, with "
        "everything left switched on, at typical values of the loads (doubt about them comes on "
        "top); each leg is held to its part of the source. The band lies "
        "between the worst single limit and the sum of all. A real source lies between the full "
        "line (it carries any start) and the broken one (it gives no more at a start than "
        "steadily). Apparent power is added as plain numbers, an upper bound; loads are taken as "
        "independent, so that evenings and storms may be worse. A short overload need not trip "
        "anything."
    )
    if found.every_hours > 1:
        caption += (
            f" With so many loads, one hour in {found.every_hours} stands for its neighbours."
        )
    return [Plate("sizes", pictures.overloads(found), caption, tables.overloads_table(found))]


def _document(profile: LoadProfile, script: str) -> list[tuple[str, str]]:
    """The document for the page: in a link, or where it is too long in a script element."""
    text = profile.to_json()
    name = re.sub(r"[^a-z0-9]+", "-", profile.house.casefold()).strip("-")[:40] or "house"
    link = base64.b64encode(text.encode()).decode()
    small = len(link) <= MOST_IN_LINK
    # Inside a script element only "<" could end it; as \u003c it is the same JSON.
    inside = "" if small else text.replace("<", "\\u003c")
    return [
        ("file_name", f"{name}-profile.json"),
        ("link", f"data:application/json;base64,{link}" if small else ""),
        ("json", inside),
        ("script", "" if small else script),
        ("script_hash", _hash(script)),
    ]


def _hash(text: str) -> str:
    return base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _without_controls(value: Any) -> Any:
    """Control characters from a document must not reach the parser of a browser."""
    if isinstance(value, str) and _CONTROL.search(value):
        return type(value)(_CONTROL.sub("\ufffd", value))
    return value
