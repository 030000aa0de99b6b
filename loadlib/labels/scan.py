"""Text of a label -> tokens: numbers, meaningful words, separators.

A linear walk over the cleaned text. Numbers keep how they were written, so that later
steps can see a decimal mark that can't be told from a thousands mark.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from loadlib.labels.lexicon import Atom, find_phrase
from loadlib.labels.text import DC_SIGN, PHI, CleanText

__all__ = ["Number", "Sep", "Token", "Word", "scan"]


@dataclass(slots=True)
class Number:
    """A number as written, with the position it starts and ends at."""

    value: float
    text: str
    start: int
    end: int
    fraction: bool = False
    unclear: bool = False
    """A point before exactly three zeros: 1.000 may be one or a thousand."""
    negative: bool = False


@dataclass(slots=True)
class Word:
    """A word or phrase; ``atom`` is None where it means nothing to the reader."""

    text: str
    start: int
    end: int
    atom: Atom | None = None
    glued: bool = False
    """Written without a space behind a number, as in 115V or 5.5-kW."""


@dataclass(slots=True)
class Sep:
    """A sign between words: one of / - , ; : ( ) @ ~ ⎓ < > = + & # x."""

    text: str
    start: int
    end: int = field(default=0)


Token = Number | Word | Sep

_NUMBER = re.compile(
    r"\d{1,3}(?:,\d{3})+(?!\d)(?:\.\d+)?"
    r"|\d{1,3}(?:\.\d{3})+,\d{1,2}(?!\d)"
    r"|\d{1,3}(?:\.\d{3}){2,}(?![\d.])"
    r"|\d+,\d{1,2}(?!\d)"
    r"|\d*\.\d+"
    r"|\d+"
)
_FRACTION = re.compile(
    r"(?:(\d)(?:\s?-\s?|\s+|\s?&\s?))?(\d{1,2})\s?/\s?(\d{1,3})(?![\d.,])(?=[\s-]*(?:PEAK\s)?"
    r"(?:HP|BHP|HORSE))"
)
_FRACTION_AFTER_HP = re.compile(r"(?:(\d)(?:-|\s))?(\d{1,2})/(\d{1,3})(?![\d.,/])")
_LETTERS = re.compile(r"(?:(?![\u03c6\u03b7])[A-Z\u00c0-\u024f\u0370-\u03ff\u0400-\u04ff'])+")
_CODE = re.compile(r"[A-Z0-9]+")
_SIGNS = frozenset("/-,;:()[]{}@~<>≤≥=+&#*\u00b1" + DC_SIGN)
_SYMBOL_WORDS = {"%": "@PCT", PHI: "@PHI", "\u03b7": "@ETA"}
_NUMBER_WORDS: dict[str, float] = {
    "TWO": 2,
    "THREE": 3,
    "FOUR": 4,
    "FIVE": 5,
    "SIX": 6,
    "EIGHT": 8,
    "TEN": 10,
}
_NUMBER_WORDS |= {"ONE": 1, "SINGLE": 1, "SEVEN": 7, "NINE": 9, "TWELVE": 12, "HALF": 0.5}
_LONGEST_NUMBER = 12


def scan(clean: CleanText) -> list[Token]:
    """Tokens in the order of the text."""
    return _phrases(_walk(clean.upper), clean)


def _walk(upper: str) -> list[Token]:
    tokens: list[Token] = []
    at = 0
    while at < len(upper):
        char = upper[at]
        if char.isdigit() or (char == "." and upper[at + 1 : at + 2].isdigit()):
            at = _take_number(upper, at, tokens)
        elif char in _SYMBOL_WORDS:
            tokens.append(Word(_SYMBOL_WORDS[char], at, at + 1))
            at += 1
        elif _LETTERS.match(upper, at):
            at = _take_word(upper, at, tokens)
        else:
            if char in _SIGNS:
                _take_sign(upper, at, tokens)
            at += 1
    return tokens


def _take_number(upper: str, at: int, tokens: list[Token]) -> int:
    fraction = _fraction_at(upper, at, tokens)
    if fraction is not None:
        tokens.append(fraction)
        return fraction.end
    match = _NUMBER.match(upper, at)
    assert match is not None
    text, end = match.group(), match.end()
    if len(text) > _LONGEST_NUMBER:
        code = _CODE.match(upper, end)
        end = code.end() if code else end
        tokens.append(Word(text[:_LONGEST_NUMBER], at, end))
        return end
    number = Number(_value(text), text, at, end, unclear=_is_unclear(text))
    if tokens and isinstance(tokens[-1], Sep) and tokens[-1].text == "-":
        number.negative = _is_minus(upper, at, tokens)
    tokens.append(number)
    return end


def _value(text: str) -> float:
    if re.fullmatch(r"0,\d{3}", text) or re.fullmatch(r"\d+,\d{1,2}", text):
        return float(text.replace(",", "."))
    if "," in text and "." in text and text.rindex(",") > text.rindex("."):
        return float(text.replace(".", "").replace(",", "."))
    if text.count(".") > 1:
        return float(text.replace(".", ""))
    return float(text.replace(",", ""))


def _is_unclear(text: str) -> bool:
    return re.fullmatch(r"[1-9]\d{0,2}\.\d{3}", text) is not None


def _is_minus(upper: str, at: int, tokens: list[Token]) -> bool:
    """A minus sign stands right before the number and behind no number or unit."""
    if upper[at - 1] != "-" or (at >= 2 and upper[at - 2] not in " :=("):
        return False
    return len(tokens) < 2 or not isinstance(tokens[-2], Number | Sep)


def _fraction_at(upper: str, at: int, tokens: list[Token]) -> Number | None:
    """'1/2' before or after HP, '1-1/2' and '1 1/2' too."""
    match = _FRACTION.match(upper, at)
    if match is None and _behind_hp(tokens):
        match = _FRACTION_AFTER_HP.match(upper, at)
    if match is None:
        return None
    whole, over, under = match.groups()
    if not 0 < int(over) < int(under):
        return None
    if whole and _whole_belongs_elsewhere(upper, at, tokens):
        return None
    value = int(whole or 0) + int(over) / int(under)
    return Number(value, match.group(), at, match.end(), fraction=True)


def _behind_hp(tokens: list[Token]) -> bool:
    last = tokens[-1] if tokens else None
    if isinstance(last, Sep) and last.text in ":=" and len(tokens) > 1:
        last = tokens[-2]
    return isinstance(last, Word) and last.text in {"HP", "HORSEPOWER", "BHP"}


def _whole_belongs_elsewhere(upper: str, at: int, tokens: list[Token]) -> bool:
    """In '230/1 1/2 HP' and 'PH 1 1/2 HP' the first 1 is the phase."""
    if at and upper[at - 1] in "/-":
        return True
    last = tokens[-1] if tokens else None
    return isinstance(last, Word) and last.text in {"PH", "PHASE", "@PHI", "QTY", "NO"}


def _take_word(upper: str, at: int, tokens: list[Token]) -> int:
    match = _LETTERS.match(upper, at)
    assert match is not None
    text, end = match.group(), match.end()
    behind_number = at > 0 and upper[at - 1].isdigit()
    if end < len(upper) and upper[end].isdigit():
        if text == "P" and upper[end] in "12" and not upper[end + 1 : end + 2].isalnum():
            tokens.append(Word("INPUT" if upper[end] == "1" else "SHAFT", at, end + 1))
            return end + 1
        if text == "X" and behind_number:
            tokens.append(Sep("x", at, end))
            return end
        if not _carries_number(text, behind_number, upper, end):
            return _take_code(upper, at, text, tokens)
    if text == "X":
        tokens.append(Sep("x", at, end))
        return end
    if text in _NUMBER_WORDS:
        tokens.append(Number(_NUMBER_WORDS[text], text, at, end))
        return end
    glued = _is_glued(upper, at, tokens)
    tokens.append(Word(text, at, end, glued=glued))
    return end


def _carries_number(text: str, behind_number: bool, upper: str, end: int) -> bool:
    """'60HZ6.5A' and 'FLA1.05' hold a number; 'HB30' and 'C13' are codes."""
    found = find_phrase([text], 0)
    if found is None or found[0].kind not in {"unit", "name", "mark"}:
        return False
    if found[0].dim in {"X", "SOURCE"} or behind_number:
        return behind_number
    if text == "V":
        return re.match(r"[1-5]\d\d(?![\d.])", upper[end : end + 4]) is not None
    return len(text) > 1


def _take_code(upper: str, at: int, text: str, tokens: list[Token]) -> int:
    match = _CODE.match(upper, at)
    end = match.end() if match else at + len(text)
    known = {"M2": "SQM", "FT2": "SQFT", "M": "M"}.get(upper[at:end], upper[at:end])
    tokens.append(Word(known, at, end, glued=_is_glued(upper, at, tokens)))
    return end


def _is_glued(upper: str, at: int, tokens: list[Token]) -> bool:
    """Right behind a number, with nothing or one hyphen between (5.5-kW)."""
    if not tokens or at == 0:
        return False
    if isinstance(tokens[-1], Number):
        return tokens[-1].end == at
    hyphen = isinstance(tokens[-1], Sep) and tokens[-1].text == "-" and upper[at - 1] == "-"
    number = tokens[-2] if hyphen and len(tokens) > 1 else None
    if isinstance(number, Number) and number.end == at - 1:
        tokens.pop()
        return True
    return False


def _take_sign(upper: str, at: int, tokens: list[Token]) -> None:
    char = upper[at]
    inside = 0 < at < len(upper) - 1 and upper[at - 1].isalpha() and upper[at + 1].isalpha()
    if char == "-" and inside:
        return
    tokens.append(
        Sep({"[": "(", "{": "(", "]": ")", "}": ")", "*": "x"}.get(char, char), at, at + 1)
    )


def _phrases(tokens: list[Token], clean: CleanText) -> list[Token]:
    """Words joined to phrases, the longest that the lexicon knows; articles dropped."""
    words = [_phrase_word(token) for token in tokens]
    out: list[Token] = []
    at = 0
    while at < len(tokens):
        token = tokens[at]
        found = find_phrase(words, at) if words[at] else None
        if isinstance(token, Word) and _is_article(token, out, clean):
            at += 1
            continue
        if found is None or (isinstance(token, Sep) and found[1] == 1):
            out.append(token)
            at += 1
            continue
        atom, length = found
        glued = isinstance(token, Word) and token.glued
        text = " ".join(words[at : at + length])
        out.append(Word(text, token.start, tokens[at + length - 1].end, atom, glued))
        at += length
    return out


def _phrase_word(token: Token) -> str:
    if isinstance(token, Word):
        return token.text
    return "/" if isinstance(token, Sep) and token.text == "/" else ""


def _is_article(token: Word, out: list[Token], clean: CleanText) -> bool:
    """The word 'a' of running text is no unit."""
    if token.text != "A" or token.glued or clean.text[token.start] != "a":
        return False
    return not (out and isinstance(out[-1], Number))
