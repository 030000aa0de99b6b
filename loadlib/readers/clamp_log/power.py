"""Watts or volt-amperes of each place from its columns."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from loadlib.errors import DataError
from loadlib.readers.clamp_log.headings import Column

__all__ = ["Places"]

Floats = NDArray[np.float64]


class Places:
    """What the columns of a log were clamped on, and how power is had from them.

    ``names`` in the order of the columns, the neutral left out; ``apparent`` (same order) says
    where it is volt-amperes.
    """

    def __init__(
        self,
        columns: Sequence[Column],
        volts: Mapping[str, float],
        leg_v: float,
        path: str,
        legs: int = 1,
    ) -> None:
        self._volts = {name.casefold(): value for name, value in volts.items()}
        self._leg_v = leg_v
        self._kinds: dict[str, dict[str, Column]] = {}
        for column in columns:
            self._kinds.setdefault(column.place, {})[column.kind] = column
        self.names = [name for name, kinds in self._kinds.items() if _counts(name, kinds)]
        if not self.names:
            raise DataError("nothing but a neutral was logged", path=path)
        whole = self._kinds.get("whole", {})
        if legs > 1 and "A" in whole and not {"W", "VA"} & whole.keys():
            heading = whole["A"].heading
            raise DataError(
                f"column {heading!r}: one current of a house of {legs} legs; a clamp reads one leg",
                path=path,
                hint=f'Say which leg or circuit: --column "leg A={heading}".',
            )
        self.apparent = ["W" not in self._kinds[name] for name in self.names]

    def power(self, values: Mapping[Column, Floats]) -> Floats:
        """Watts or volt-amperes, shape (places, n), from values in the columns' own units."""
        return np.stack([self._of(name, values) for name in self.names])

    def _of(self, name: str, values: Mapping[Column, Floats]) -> Floats:
        kinds = self._kinds[name]
        for kind in ("W", "VA"):
            if kind in kinds:
                return values[kinds[kind]] * kinds[kind].scale
        amps = values[kinds["A"]] * kinds["A"].scale
        volts = values[kinds["V"]] if "V" in kinds else self._nominal_v(name)
        result: Floats = amps * volts
        return result

    def _nominal_v(self, name: str) -> float:
        return self._volts.get(name.casefold(), self._leg_v)

    def notes(self) -> list[str]:
        """How volt-amperes were had, and what was left out."""
        found = []
        for name, kinds in self._kinds.items():
            if name == "neutral":
                found.append("the neutral is no load: left out, it is a check on the legs only")
            elif {"W", "VA"} & kinds.keys() or "A" not in kinds:
                continue
            elif "V" in kinds:
                found.append(f"{name}: volt-amperes from its own volts; no power factor was logged")
            else:
                volts = self._nominal_v(name)
                found.append(f"{name}: amps at nominal {volts:g} V; no power factor was logged")
        return found


def _counts(name: str, kinds: Mapping[str, Column]) -> bool:
    return name != "neutral" and bool({"A", "W", "VA"} & kinds.keys())
