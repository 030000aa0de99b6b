"""Numbers that stand together -> groups: '208/230', '100-240 V', '115-60-1', '10A-5A'.

Between two groups lies a gap of words and separators; which of its words belong to the
number before and which to the number behind is settled in `loadlib.labels.bind`.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field

from loadlib.labels.lexicon import Atom, find_phrase
from loadlib.labels.scan import Number, Sep, Token, Word
from loadlib.labels.text import DC_SIGN

__all__ = ["Group", "Layout", "lay_out", "system_of"]

_PHASES = frozenset({1.0, 3.0})
_HERTZ = frozenset({50.0, 60.0})


@dataclass(slots=True)
class Group:
    """Numbers joined by / - or 'to', with the unit that is glued to them, if any."""

    numbers: list[Number]
    seps: list[str]
    start: int
    """Index of the first token."""
    end: int = 0
    """Index behind the last token, the glued unit included."""
    unit: Atom | None = None
    unit_text: str = ""
    factor: float = 1.0
    count: float | None = None
    current_kind: str | None = None
    """'dc' or 'ac' where a sign or word next to the number says so."""
    linked: bool = False
    """Behind '@' or 'at': belongs to the figure before."""

    @property
    def values(self) -> tuple[float, ...]:
        """Numbers as printed, before the unit's factor."""
        return tuple(number.value * self.factor for number in self.numbers)


def system_of(values: Sequence[float]) -> tuple[list[float], list[float], list[float]] | None:
    """Volts, phases and hertz of columns like 208/230-1-60; None when they are not such."""
    cut = next((at for at, value in enumerate(values) if value < 100.0), len(values))
    volts, rest = list(values[:cut]), values[cut:]
    phases = [value for value in rest if value in _PHASES]
    hertz = [value for value in rest if value in _HERTZ]
    if not volts or not rest or len(phases) > 1 or len(phases) + len(hertz) != len(rest):
        return None
    if max(volts) > 600.0 or (len(hertz) > 1 and not phases):
        return None
    return volts, phases, hertz


@dataclass(slots=True)
class Layout:
    """The text as groups and gaps; gap i lies before group i, the last one behind all."""

    groups: list[Group]
    gaps: list[list[Token]]
    tokens: list[Token] = field(default_factory=list)


def lay_out(tokens: list[Token]) -> Layout:
    """Groups of numbers and the gaps between them."""
    tokens = _without_idents(tokens)
    groups: list[Group] = []
    gaps: list[list[Token]] = [[]]
    at = 0
    while at < len(tokens):
        token = tokens[at]
        if not isinstance(token, Number):
            gaps[-1].append(token)
            at += 1
            continue
        group = _group_at(tokens, at)
        group.linked = at > 0 and _is_link(tokens[at - 1])
        if _is_count(tokens, group) and group.end < len(tokens):
            at = group.end + 1
            following = _group_at(tokens, at)
            following.count = group.values[0]
            group = following
        groups.append(group)
        gaps.append([])
        at = group.end
    _mend_ac_dc(groups)
    return Layout(groups, gaps, tokens)


def _mend_ac_dc(groups: list[Group]) -> None:
    """In 'AC 230V DC 12V' the DC belongs to the number behind it."""
    for before, group in itertools.pairwise(groups):
        if before.current_kind == "ac" and before.unit is not None and before.unit.dim == "VDC":
            before.unit = Atom("unit", "V", "V")
            group.current_kind = group.current_kind or "dc"


def _without_idents(tokens: list[Token]) -> list[Token]:
    """Model numbers, frame sizes and 'COMP 1' are no quantities."""
    out: list[Token] = []
    end = -2
    """Where the identifier before ends; what is glued to it is part of it."""
    for at, token in enumerate(tokens):
        hyphened = isinstance(token, Word) and token.glued and token.start == end + 1
        goes_on = token.start == end or hyphened
        if goes_on or (isinstance(token, Number) and _is_ident(tokens, at)):
            out.append(Word(token.text, token.start, token.end))
            out += _behind_first_word(token)
            end = token.end
        else:
            out.append(token)
    return out


def _behind_first_word(token: Token) -> list[Token]:
    """'00912-A DC 19.5 V': of the phrase 'A DC' only the A is of the identifier."""
    first, _, rest = token.text.partition(" ")
    found = find_phrase(rest.split(), 0) if rest and isinstance(token, Word) else None
    return [] if found is None else [Word(rest, token.start + len(first) + 1, token.end, found[0])]


def _is_ident(tokens: list[Token], at: int) -> bool:
    back = at - 1
    while back >= 0 and _sep_text(tokens, back) in {":", "#"}:
        back -= 1
    behind = _word(tokens, back)
    after = _word(tokens, at + 1)
    number = tokens[at]
    assert isinstance(number, Number)
    if _is_code(tokens, at, number):
        return True
    if behind is None or behind.atom is None or (after is not None and after.start == number.end):
        return False
    atom = behind.atom
    unit_follows = after is not None and after.atom is not None and after.atom.kind == "unit"
    if atom.kind == "ident":
        return atom.key == "id" or not unit_follows
    if atom.kind == "part" or atom.key == "circuit":
        names = after is not None and after.atom is not None and after.atom.kind == "name"
        small = number.text in {"1", "2", "3", "4"}
        return small and names and isinstance(_get(tokens, at + 2), Number | Sep)
    return False


def _is_code(tokens: list[Token], at: int, number: Number) -> bool:
    """'00912', and 'XK-4410': letters that mean nothing, joined to digits by a hyphen."""
    digits = number.text.isdigit()
    if digits and len(number.text) > 2 and number.text[0] == "0":
        return True
    sep, letters, after = _get(tokens, at - 1), _word(tokens, at - 2), _word(tokens, at + 1)
    if _sep_text(tokens, at - 1) != "-" or sep is None or letters is None or letters.atom:
        return False
    joined = letters.end == sep.start and sep.end == number.start
    unit = after is not None and after.glued and after.atom is not None
    return digits and joined and (len(number.text) > 3 or not unit)


def _group_at(tokens: list[Token], at: int) -> Group:
    first = tokens[at]
    assert isinstance(first, Number)
    group = Group([first], [], at, at + 1)
    _take_unit(tokens, group)
    while (step := _joins(tokens, group)) is not None:
        sep, number_at, number = step
        group.numbers.append(number)
        group.seps.append(sep)
        group.end = number_at + 1
        _take_unit(tokens, group)
    _note_current_kind(tokens, group)
    return group


def _take_unit(tokens: list[Token], group: Group) -> None:
    """A unit glued to the last number, or written as a sign: 80K BTU, 1~, 3N~, 60~."""
    word = _word(tokens, group.end)
    last = group.numbers[-1]
    if word is not None and word.glued and word.text == "K" and word.atom is None:
        following = _word(tokens, group.end + 1)
        if following is None or following.atom is None or following.atom.kind != "unit":
            group.unit = Atom("unit", "X", "X")
        else:
            group.factor = 1000.0
        group.end += 1
        word = following
        if word is not None and group.factor > 1.0:
            _put_unit(group, word)
        return
    if word is not None and word.glued and word.atom is not None and _is_unit(word.atom):
        _put_unit(group, word)
        return
    if _phase_sign(tokens, group, last):
        return


def _put_unit(group: Group, word: Word) -> None:
    group.unit, group.unit_text = word.atom, word.text
    group.end += 1


def _phase_sign(tokens: list[Token], group: Group, last: Number) -> bool:
    """'1~', '3N~', '3/N/PE', '3x400V' and '60~'."""
    sign = _sep_text(tokens, group.end)
    word = _word(tokens, group.end)
    number = _get(tokens, group.end + 1)
    if len(group.numbers) > 1:
        return False
    if sign == "~" and last.value in _HERTZ:
        group.unit = Atom("unit", "HZ", "HZ")
    elif last.text not in {"1", "3"}:
        return False
    elif (
        sign == "~"
        or (sign == "x" and isinstance(number, Number) and number.value >= 100.0)
        or (word is not None and word.text == "N" and word.atom is None)
    ):
        group.unit = Atom("unit", "PH", "PH")
        group.unit_text = "~"
    elif sign == "/" and (n := _word(tokens, group.end + 1)) is not None and n.text == "N":
        group.unit = Atom("unit", "PH", "PH")
        group.unit_text = "~"
        group.end += 1
    else:
        return False
    group.end += 1
    return True


def _joins(tokens: list[Token], group: Group) -> tuple[str, int, Number] | None:
    """The next number, when it belongs to the same group."""
    at = group.end
    sep = _sep_text(tokens, at)
    word = _word(tokens, at)
    if sep in {"~"} and group.unit is not None and group.unit.dim == "V":
        sep = _sep_text(tokens, at + 1)
        at += 1
    if word is not None and word.atom is None and word.text in {"TO", "THRU", "AND", "OR"}:
        sep = "-" if word.text in {"TO", "THRU"} else "/"
        if word.text in {"AND", "OR"} and not _one_unit_for_both(tokens, at + 1, group):
            return None
    if sep not in {"/", "-"}:
        return None
    number = _get(tokens, at + 1)
    if not isinstance(number, Number) or number.negative or number.fraction:
        return None
    if group.unit is not None and not _unit_allows(tokens, at + 1, group):
        return None
    spaced = number.start - group.numbers[-1].end > 1
    if sep == "-" and spaced and group.unit is None and not _alike(group, number):
        return None
    return sep, at + 1, number


def _one_unit_for_both(tokens: list[Token], at: int, group: Group) -> bool:
    """'115 or 230 V', 'between 110 and 120 volts'; 'RLA 10.4 and 13.6' without any."""
    word = _word(tokens, at + 1)
    if group.unit is None and (word is None or word.atom is None or word.atom.kind == "name"):
        return True
    if word is None or word.atom is None or word.atom.dim != "V":
        return False
    return group.unit is None or group.unit.dim == "V"


def _unit_allows(tokens: list[Token], at: int, group: Group) -> bool:
    """'10A-5A' and '230V-1-60' are one group; '120V-60Hz' are two."""
    assert group.unit is not None
    number = tokens[at]
    assert isinstance(number, Number)
    word = _word(tokens, at + 1)
    if word is not None and word.atom is not None and _is_unit(word.atom):
        return word.atom.dim == group.unit.dim
    if group.unit.dim != "V":
        return False
    ahead = _sep_text(tokens, at + 1)
    if ahead in {"/", "-"} and isinstance(_get(tokens, at + 2), Number):
        return True
    return number.value in _PHASES | _HERTZ


def _alike(group: Group, number: Number) -> bool:
    """With spaces round the dash: like sizes, or the columns volts - hertz - phase."""
    first = group.numbers[0].value
    low, high = sorted((group.numbers[-1].value, number.value))
    system = 100.0 <= first <= 600.0 and number.value in _PHASES | _HERTZ
    return system or 0.0 < high <= 12.0 * low


def _note_current_kind(tokens: list[Token], group: Group) -> None:
    """A DC or AC sign right behind the group or its unit, or a word right before it."""
    before = _word(tokens, group.start - 1)
    behind = group.end
    word = _word(tokens, behind)
    if group.unit is None and word is not None and word.atom is not None and _is_unit(word.atom):
        if word.atom.dim == "VDC":
            group.current_kind = "dc"
            return
        behind += 1
    if before is not None and _key(before) == "ac":
        group.current_kind = "ac"
        return
    sign = _sep_text(tokens, behind)
    after = _word(tokens, behind)
    keys = {w.atom.key for w in (before, after) if w is not None and w.atom is not None}
    if sign == DC_SIGN or _is_dc(group.unit) or (after is not None and _key(after) == "dc"):
        group.current_kind = "dc"
    elif sign == "~" or "ac" in keys:
        group.current_kind = "ac"
    elif "dc" in keys:
        group.current_kind = "dc"


def _is_dc(unit: Atom | None) -> bool:
    return unit is not None and unit.dim in {"VDC", "ADC"}


def _is_count(tokens: list[Token], group: Group) -> bool:
    """'4 x 60 W': the first number counts; '24 x 36 in' has no watts."""
    if group.unit is not None or len(group.numbers) > 1 or group.values[0] > 100:
        return False
    if _sep_text(tokens, group.end) != "x" or not isinstance(_get(tokens, group.end + 1), Number):
        return False
    following = _group_at(tokens, group.end + 1)
    word = _word(tokens, following.end)
    unit = following.unit or (word.atom if word is not None else None)
    return unit is not None and unit.dim == "W"


def _is_link(token: Token) -> bool:
    if isinstance(token, Sep):
        return token.text == "@"
    return isinstance(token, Word) and token.atom is None and token.text in {"AT", "ON"}


def _is_unit(atom: Atom) -> bool:
    return atom.kind == "unit"


def _key(word: Word) -> str:
    return word.atom.key if word.atom is not None else ""


def _get(tokens: list[Token], at: int) -> Token | None:
    return tokens[at] if 0 <= at < len(tokens) else None


def _word(tokens: list[Token], at: int) -> Word | None:
    token = _get(tokens, at)
    return token if isinstance(token, Word) else None


def _sep_text(tokens: list[Token], at: int) -> str:
    token = _get(tokens, at)
    return token.text if isinstance(token, Sep) else ""
