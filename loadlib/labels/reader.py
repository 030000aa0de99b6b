"""The text of a rating label -> `RatingLabel`."""

from __future__ import annotations

import re
from typing import Any

from loadlib.labels.bind import Figure, bind
from loadlib.labels.checks import contradictions
from loadlib.labels.decide import decide
from loadlib.labels.groups import lay_out
from loadlib.labels.lexicon import STANDARD_AMPS
from loadlib.labels.rating import RatingLabel
from loadlib.labels.reading import Reading
from loadlib.labels.refuse import Words, gather_words, why_refused
from loadlib.labels.roles import assign_roles, split_systems
from loadlib.labels.scan import scan
from loadlib.labels.text import LONGEST, CleanText, clean

__all__ = ["read_label"]

MOST_NUMBERS = 120
"""A text with more numbers (pairs counted once) is a table or a log, not one label."""

_CODE = re.compile(
    r"(?<!DATE )(?<!BAR )(?<!QR )(?:\b(?:KVA|NEMA|LOCKED ROTOR|LR|LRA)[ /-]*(?:HP[ -]*)?)?"
    r"\bCODE(?:[ -]?LETTER)?\s?[:=.]?\s?([A-HJ-NP-V])(?![A-Z0-9.])(\s?[/,&]\s?[A-Z]\b)?"
)
_CIRCUIT = re.compile(r"\b(?:CKT|CIRCUIT)\.?\s?#?\s?([A-D]|[1-4](?=\s?:?\s?M[CIA]))(?![A-Z0-9.])")
_CLASS_LETTER = re.compile(
    r"\b(?:DESIGN|CLASS|INS(?:UL(?:ATION)?)?\.?(?:\s?CL(?:ASS)?\.?)?|CL|TYPE|GRADE)\s?[:.]?\s?"
    r"[A-HN](?![A-Z0-9])"
)


def read_label(text: str) -> RatingLabel:
    """Read what a rating label states, with doubts; refuse what is no load.

    Parameters
    ----------
    text : the label as typed, up to 4000 characters; any text is accepted.

    Returns
    -------
    RatingLabel, with ``refused`` set where the text is no load. Volts times amps is never
    put into watts or VA; see `loadlib.labels.upper_bound_va`.

    Examples
    --------
    >>> label = read_label("208/230-1-60 RLA 13.5 LRA 73 FAN FLA 0.9 MCA 17.8 MOCP 30")
    >>> label.volts, label.rla, label.lra, label.mocp
    (230.0, 13.5, 73.0, 30.0)
    >>> read_label("15A 125V").refused
    'a plug, receptacle or connector rating, not a load'
    """
    if len(text) > LONGEST:
        return RatingLabel(text, refused=f"too long for a rating label (over {LONGEST} letters)")
    if not text.strip():
        return RatingLabel(text, refused="empty: no text to read")
    cleaned = clean(text)
    letter, letter_unclear, cleaned = _take_code_letter(cleaned)
    circuits, cleaned = _take_circuits(cleaned)
    tokens = scan(cleaned)
    layout = lay_out(tokens)
    if len(layout.groups) > MOST_NUMBERS:
        return RatingLabel(text, refused="too many numbers for one rating label")
    figures = split_systems(bind(layout))
    words = gather_words(layout.tokens, cleaned.upper)
    assign_roles(figures, circuits, appliance_named=bool(words.appliances))
    tags = set(words.tags)
    if any(f.dim == "PH" and f.unit_text == "~" for f in figures):
        tags.add("phase sign")
    reading = decide(figures, tags)
    _extra_doubts(reading, cleaned, letter_unclear)
    reading.facts["code_letter"] = letter
    _circuit_sizes(figures, reading, cleaned, words)
    _usual_traps(figures, reading, words)
    refused = why_refused(figures, reading, words)
    return _as_label(text, reading, refused)


def _take_code_letter(cleaned: CleanText) -> tuple[str | None, bool, CleanText]:
    """The locked-rotor code letter; two letters can't be told apart."""
    match = _CODE.search(cleaned.upper)
    if match is None:
        return None, False, cleaned
    two = match.group(2) is not None
    return (None if two else match.group(1)), two, _blank(cleaned, [match.span()])


def _take_circuits(cleaned: CleanText) -> tuple[list[tuple[int, str]], CleanText]:
    """Places where 'CKT A', 'CKT B' begin; letters of classes and types are blanked too."""
    found = list(_CIRCUIT.finditer(cleaned.upper))
    circuits = [(match.start(), match.group(1)) for match in found]
    spans = [match.span() for match in found]
    spans += [match.span() for match in _CLASS_LETTER.finditer(cleaned.upper)]
    return circuits, _blank(cleaned, spans)


def _blank(cleaned: CleanText, spans: list[tuple[int, int]]) -> CleanText:
    text, upper = cleaned.text, cleaned.upper
    for start, end in spans:
        gap = " " * (end - start)
        text, upper = text[:start] + gap + text[end:], upper[:start] + gap + upper[end:]
    return CleanText(text, upper, cleaned.mended, cleaned.spoken)


def _extra_doubts(reading: Reading, cleaned: CleanText, letter_unclear: bool) -> None:
    if letter_unclear:
        reading.doubt("two letters: which one is the locked-rotor code?", ask=True)
    for written in cleaned.mended:
        reading.doubt(f"{written} has a letter for a digit: mended", ask=True)


def _circuit_sizes(
    figures: list[Figure], reading: Reading, cleaned: CleanText, words: Words
) -> None:
    """A standard circuit size beside volts may be the breaker's, not the current."""
    facts = reading.facts
    if "circuit_a" in facts and _has_load(facts):
        facts.setdefault("mocp", facts.pop("circuit_a"))
    amps, volts, watts = facts.get("amps"), facts.get("volts"), facts.get("watts")
    if amps is None or volts is None or amps not in STANDARD_AMPS:
        return
    phases = 1.7321 if facts.get("phases") == 3 else 1.0
    if watts is not None and watts > 1.05 * volts * amps * phases and "mocp" not in facts:
        facts["mocp"] = facts.pop("amps")
        reading.doubt(f"{amps:g} A is less than the watts need: taken as the breaker")
        return
    alone = not any(f.dim not in {"V", "A", ""} for f in figures) and not reading.parts
    if alone and set(facts) <= {"amps", "volts", "volts_printed", "code_letter"}:
        if "circuit" in words.tags:
            facts["circuit_a"] = facts.pop("amps")
            return
        reading.doubt(f"{amps:g} A may be the circuit, not the current drawn", ask=True)
        if cleaned.spoken and not words.tags & {"rated", "input", "max", "total"}:
            del facts["amps"]
            reading.ask_value = True


def _usual_traps(figures: list[Figure], reading: Reading, words: Words) -> None:
    """Figures that people and plates often mean otherwise than they stand."""
    facts = reading.facts
    watts, volts, amps = facts.get("watts"), facts.get("volts"), facts.get("amps")
    microwave = any(name == "microwave" for _, name in words.appliances)
    plain = not any(f.dim == "W" and (f.keys & {"input", "output"}) for f in figures)
    if microwave and watts is not None and plain and watts <= 1250.0:
        reading.doubt(f"{watts:g} W may be cooking power, not what it draws", ask=True)
    if volts is not None and volts >= 200.0 and amps in {10.0, 13.0, 16.0} and watts is not None:
        apparent = volts * (amps or 0.0)
        if watts < 0.97 * apparent:
            reading.doubt(f"{amps:g} A may be the class of the plug or fuse")
    large = facts.get("hp") or 0.0, (watts or 0.0) / 2000.0, (volts or 0.0) / 40.0
    if max(large) > 15.0:
        reading.doubt("larger than household size: please check the figures")


def _has_load(facts: dict[str, Any]) -> bool:
    return any(key in facts for key in ("amps", "watts", "va", "hp", "rla", "fla", "mca", "sfa"))


def _as_label(text: str, reading: Reading, refused: str | None) -> RatingLabel:
    facts = {key: value for key, value in reading.facts.items() if key != "circuit_a"}
    facts["wide_range"] = reading.supply.wide
    label = RatingLabel(text, **facts, parts=tuple(reading.parts), refused=refused)
    for finding in contradictions(label):
        reading.doubt(finding, ask=True)
    return RatingLabel(
        text,
        **facts,
        parts=tuple(reading.parts),
        doubts=tuple(reading.doubts),
        ask=reading.ask and refused is None,
        refused=refused,
    )
