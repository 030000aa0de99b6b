"""Cleaning the text of a rating label: one alphabet, no look-alikes, misread digits mended.

Everything here runs in time linear in the length of the text.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

__all__ = ["DC_SIGN", "LONGEST", "PHI", "CleanText", "clean"]

LONGEST = 4000
"""A longer text is no rating label: the reader refuses it. [characters]"""

DC_SIGN = "\u2393"
PHI = "\u03c6"

_SAME = {
    **dict.fromkeys("‐‑‒–—―−﹣－", "-"),
    **dict.fromkeys("∼∿〜～⏦˜", "~"),
    **dict.fromkeys("\u2393\u2550\u2a75\u2505", DC_SIGN),
    **dict.fromkeys("⁄∕／", "/"),
    **dict.fromkeys("×✕✖⨯", "x"),
    **dict.fromkeys("\u03c6\u03d5\u03a6\u00d8\u00f8\u2300\u0424\u2205", PHI),
    **dict.fromkeys("\n\r\x0b\x0c\u2028\u2029•|¦", ";"),
    **dict.fromkeys("’‘ʼ", "'"),
    "·": ".",
    "\t": " ",
}
_SAME_TABLE = str.maketrans(_SAME)
_GAP_IN_NUMBER = re.compile(
    r"(?<=\d)[\u00a0\u2007\u2009\u202f' ](?=000\b)|(?<=\d)['\u202f\u2009](?=\d{3}\b)"
)
_BLANKS = re.compile(r"[ \t]{2,}")
_MILLI = re.compile(r"(?<=[\d\s])m(?=(?:A|W|V|Ah)\b)")
_DOTTED = re.compile(r"(?<![A-Za-z])(?:[A-Za-z]\.){1,4}[A-Za-z](?![A-Za-z])\.?")
_OLD_DC = re.compile(r"(?<=[VvCc])\s?(?:===|---|==|=(?=\s?\d|\s|$))")
_WITH = re.compile(r"\bw/o\b|\bw/(?=\s|soft|a\b)", re.IGNORECASE)
_WRITTEN_OUT = tuple(
    (re.compile(pattern, re.IGNORECASE), word)
    for pattern, word in (
        (r"(?:/|\bper|\bin)\s?24\s?h(?:rs?|ours?)?\b", " per day "),
        (r"(?:/|\bper|\bfor)\s?100\s?cyc(?:les?)?\b", " perhundredcycles "),
        (r"(?:/|\bper|\bfor)\s?1[,.]?000\s?h(?:rs?|ours?)?\b", " perthousandhours "),
        (r"kwh\s?(?:/\s?a|p\.?\s?a\.?)(?![a-z])", "kWh per year "),
        (
            r"(?<![a-z0-9])(?:[tf]|t\s)(\d{1,3}(?:\.\d+)?)\s?(m?a)[lhe]?(?=[\s\d,;/.]|$)",
            r"fuselink \1\2 ",
        ),
        (r"\bl?(?:1|2|5|6|7|10|14|18|24)-(?:15|20|30|50|60)\s?[pr]\b", " plug "),
        (r"\b(?:three|3)[ -]quarters?(?=[ -](?:of an? )?h)", "0.75"),
        (r"\b(?:one[ -])?half(?: an?)?(?=[ -]h)", "0.5"),
        (r"\b(?:one|1|a)[ -]third(?=[ -](?:of an? )?h)", "0.3333"),
        (r"\b(?:(?:one|1|a)[ -])?quarter(?=[ -](?:of an? )?h)", "0.25"),
        (r"(?<![a-z0-9.])(v|hz|w)\.(?=\d{2,4}(?![\d.,]))", r"\1 "),
        (r"(?<![a-z0-9.])a\.(?=\d{1,2}[.,]\d)", "A "),
        (r"\b(?:only )?one (?:on )?at (?:a|any one) time\b", " nonsimultaneous "),
        (r"\b(?:seer|eer|hspf|cop)2(?![\d.])", " seer "),
        (r"[<\u2264]\s?(?=\.?\d)", " less than "),
        (r"(?<=\d)(\s?w(?:atts?)?)\.?\s?=\s?(?=\d+\s?w)", r"\1 equals "),
        (r"\b(ac\s?[\d-]+\s?v(?:olts?)?)\s+dc\b", r"\1 ; dc "),
        # One figure with its unit twice: '120 V / 240 V'.
        (r"(?<=\d)\s(v(?:olts?)?|a(?:mps?)?|w(?:atts?)?|kw)\s?/\s?(?=\d)", r"\1/"),
        (r"[>\u2265]\s?(?=\.?\d)", " more than "),
        # The words open a new side: the DC is not of the figure before them.
        (r"\bdc[ -](?=out(?:put)?\b[\s:]*\d+(?:\.\d+)?\s?v)", " ; dc "),
        (r"\b(?:r|hfc|hcfc|hfo|refrigerant)[- ]?(?:12|22|32|\d{3,4}(?:\s?[a-z]{1,2})?)\b", " "),
    )
)

# A number in which I, l, O or S may stand for 1, 1, 0 and 5, with a unit glued on or none.
_MISREAD = re.compile(
    r"(?<![A-Za-z0-9])([0-9IlOoSs][0-9IlOoSs.,/-]{0,11}?)"
    r"(V|v|VAC|Vac|VOLTS?|Volts?|A|AMPS?|Amps?|amps?|W|w|WATTS?|Watts?|kW|KW|kw|VA|kVA"
    r"|HZ|Hz|hz|PH|Ph|ph|HP|Hp|hp|BTU|Btu|RPM)?(?![A-Za-z0-9]|[.,/-][A-Za-z0-9])"
)
_DIGIT_OF = str.maketrans({"I": "1", "l": "1", "O": "0", "o": "0", "S": "5", "s": "5"})
_UNIT_WORD = (
    r"(?:V|VAC|VOLTS?|A|AMPS?|AMPERES?|W|WATTS?|KW|VA|KVA|HZ|HERTZ|CY|PH|PHASE|HP|BTU|RPM"
    r"|FLA|RLA|LRA|SFA|MCA|MOCP|PF)"
)
_UNIT_NEXT = re.compile(r"\s?" + _UNIT_WORD + r"\b", re.IGNORECASE)
_UNIT_BEFORE = re.compile(r"\b" + _UNIT_WORD + r"[.:]?\s?$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class CleanText:
    """Upper-case text in one alphabet, and the numbers that had to be mended."""

    text: str
    upper: str
    """As ``text``, character by character, in capitals."""
    mended: tuple[str, ...]
    spoken: bool
    """True where volts or amps are written out in small letters, as people speak."""


def clean(raw: str) -> CleanText:
    """The text as the scanner wants it; ``raw`` has at most LONGEST characters."""
    text = _vulgar_fractions(_BLANKS.sub(" ", raw))
    text = _GAP_IN_NUMBER.sub("", text)
    text = unicodedata.normalize("NFKC", text.translate(_SAME_TABLE)).translate(_SAME_TABLE)
    text = "".join(_plain(char) for char in text)
    text, mended = _mend(text)
    text = _MILLI.sub("milli", text)
    spoken = re.search(r"volt|amp", text) is not None
    text = _OLD_DC.sub(DC_SIGN, text)
    text = _DOTTED.sub(lambda match: match.group().replace(".", ""), text)
    text = _WITH.sub(lambda match: "without " if match.group()[-1] in "oO" else "with ", text)
    for pattern, word in _WRITTEN_OUT:
        text = pattern.sub(word, text)
    return CleanText(text, "".join(_upper(char) for char in text), mended, spoken)


def _upper(char: str) -> str:
    """Upper case, but one character for one, and small Greek letters kept."""
    return char.upper() if char.isascii() else char


def _vulgar_fractions(text: str) -> str:
    """'1½' becomes '1.5', '¾' becomes '0.75'."""
    if text.isascii():
        return text
    out: list[str] = []
    for char in text:
        if "<fraction>" not in unicodedata.decomposition(char) or char == "⅟":
            out.append(char)
            continue
        whole = ""
        if out and out[-1] == " " and len(out) > 1 and out[-2].isdigit():
            out.pop()
        if out and out[-1].isdigit() and (len(out) < 2 or out[-2] in " ;:("):
            whole = out.pop()
        value = (int(unicodedata.digit(whole, 0)) if whole else 0) + unicodedata.numeric(char)
        out.append(f"{value:.6g}")
    return "".join(out)


def _plain(char: str) -> str:
    if char.isascii():
        return char if char.isprintable() else " "
    decimal = unicodedata.decimal(char, None)
    return char if decimal is None else str(decimal)


def _mend(text: str) -> tuple[str, tuple[str, ...]]:
    """Letters misread for digits, put right where a unit shows that a number is meant."""
    mended: list[str] = []

    def put_right(match: re.Match[str]) -> str:
        number, unit = match.group(1), match.group(2) or ""
        if number.translate(_DIGIT_OF) == number or not any(c.isdigit() for c in number):
            return match.group()
        around = (
            text[max(0, match.start() - 12) : match.start()],
            text[match.end() : match.end() + 12],
        )
        if not unit and not (_UNIT_BEFORE.search(around[0]) or _UNIT_NEXT.match(around[1])):
            return match.group()
        mended.append(match.group())
        return number.translate(_DIGIT_OF) + unit

    return _MISREAD.sub(put_right, text), tuple(mended)
