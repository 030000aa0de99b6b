"""loadlib reading logged: what the logs stored with a house show."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

__all__ = ["logged"]


def logged(
    house: Annotated[
        str, typer.Option("--house", "-H", help="Which house, if there are several.")
    ] = "",
    place: Annotated[
        list[str] | None,
        typer.Option("--place", help='Only this one, e.g. "leg A" or "dryer"; again for more.'),
    ] = None,
    svg: Annotated[
        Path | None, typer.Option("--svg", help="Write the picture by clock hour; - for stdout.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """What stored logs show: demand, base load, hours, legs, times on."""
    from loadlib.cli import logged_text as text
    from loadlib.cli.logged_answer import logged_of
    from loadlib.cli.output import out
    from loadlib.core.cautions import CLAMP, ESTIMATE
    from loadlib.files import write_text
    from loadlib.store.evidence import load_evidence
    from loadlib.store.houses import pick

    with out.progress("looking through the logs") as update:
        answer = logged_of(load_evidence(pick(house)), place or ())
        update(1.0)
    cautions = (*CLAMP, *ESTIMATE)
    if svg is not None:
        write_text(svg, text.svg(answer))
        out.warn(*filter(None, [text.not_drawn(answer)]), *answer.remarks, *cautions)
        return
    if as_json:
        out.json(answer.tree() | {"cautions": list(cautions)})
        return
    for line in text.lines(answer):
        out.wrapped(line)
    out.text(*text.hour_lines(text.drawn(answer), out.width), "")
    for remark in filter(None, (*answer.remarks, text.not_drawn(answer))):
        out.wrapped(f"- {remark}")
    out.cautions(cautions)
