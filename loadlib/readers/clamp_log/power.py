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
        self, columns: Sequence[Column], volts: Mapping[str, float], leg_v: float, path: str
    ) -> None:
        self._volts = volts
        self._leg_v = leg_v
        self._kinds: dict[str, dict[str, Column]] = {}
        for column in columns:
            self._kinds.setdefault(column.place, {})[column.kind] = column
        self.names = [name for name, kinds in self._kinds.items() if _counts(name, kinds)]
        if not self.names:
            raise DataError("nothing but a neutral was logged", path=path)
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
        return self._volts.get(name, self._leg_v)

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
