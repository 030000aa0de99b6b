"""Do the figures of one plate agree with one another?"""

from __future__ import annotations

import math

from loadlib.labels.rating import RatingLabel

__all__ = ["contradictions", "expected_mca", "plate_is_consistent"]

_ROOT_3 = 1.7320508
_W_PER_HP = 745.7
_LEAST_BTU_PER_WH = 3.2
"""A heater gives 3.41 BTU per Wh; less than that is a misprint."""


def expected_mca(label: RatingLabel) -> tuple[float, float] | None:
    """Minimum circuit ampacity by the two forms of plates. [A]

    1.25 × the largest motor + the rest, and 1.25 × everything, which holds where electric
    heat shares the circuit. None without a rated-load current.

    References: NEC 440.33 and 424.3(B) (article numbers from memory).
    """
    if label.rla is None:
        return None
    loads = [label.rla]
    if label.fla is not None:
        loads.append(label.fla)
    loads += [p.fla for p in label.parts if p.role == "part" and p.fla is not None]
    loads += [p.rla for p in label.parts if p.role == "part" and p.rla is not None]
    motors = max(loads) * 1.25 + sum(loads) - max(loads)
    return motors, 1.25 * (sum(loads) + _heat_a(label))


def _heat_a(label: RatingLabel) -> float:
    if label.volts is None:
        return 0.0
    watts = sum(
        part.watts or 0.0
        for part in label.parts
        if part.role == "part" and part.name in {"electric heat", "heater"}
    )
    return watts / label.volts


def plate_is_consistent(label: RatingLabel) -> bool | None:
    """True or False where figures can be held against each other, None where none can."""
    if contradictions(label):
        return False
    pairs = (
        label.mca is not None and (label.rla is not None or label.mocp is not None),
        label.watts is not None and _volt_amps(label) is not None,
        label.hp is not None and _volt_amps(label) is not None,
        label.lra is not None and label.rla is not None,
    )
    return True if any(pairs) else None


def contradictions(label: RatingLabel) -> tuple[str, ...]:
    """Each disagreement of the plate's figures, in plain words."""
    if label.refused is not None:
        return ()
    found = (
        *_power_findings(label),
        *_current_findings(label),
        *_heat_findings(label),
    )
    return found


def _volt_amps(label: RatingLabel) -> float | None:
    amps = label.amps if label.amps is not None else label.fla or label.sfa
    if label.volts is None or amps is None:
        return None
    return label.volts * amps * (_ROOT_3 if label.phases == 3 else 1.0)


def _power_findings(label: RatingLabel) -> list[str]:
    found = []
    apparent = _volt_amps(label)
    if apparent is not None:
        if label.watts is not None and label.watts > 1.05 * apparent:
            found.append(f"{label.watts:g} W is more than volts times amps ({apparent:.0f} VA)")
        if label.hp is not None and label.hp * _W_PER_HP > 1.05 * apparent:
            found.append(f"{label.hp:.3g} hp is more than volts times amps ({apparent:.0f} VA)")
        if label.va is not None and label.va > 1.1 * apparent:
            found.append(f"{label.va:g} VA is more than volts times amps ({apparent:.0f} VA)")
    if label.va is not None and label.watts is not None and label.watts > 1.02 * label.va:
        found.append(f"{label.watts:g} W is more than {label.va:g} VA")
    return found


def _current_findings(label: RatingLabel) -> list[str]:
    found = []
    if label.mca is not None and label.mocp is not None and label.mocp < label.mca:
        found.append(f"fuse {label.mocp:g} A is less than the ampacity {label.mca:g} A")
    running = label.rla or label.sfa or label.fla or label.amps
    if label.lra is not None and running is not None and label.lra < running:
        found.append(f"start {label.lra:g} A is less than running {running:g} A")
    forms = expected_mca(label)
    if label.mca is not None and forms is not None:
        # Plates round to a tenth or to a whole ampere.
        low, high = min(forms) * 0.98 - 0.1, max(forms) * 1.02 + 1.0
        if label.fla is None:
            high = math.inf  # the rest of the unit is not printed
        if not low <= label.mca <= high and not _has_unlisted_load(label):
            found.append(
                f"ampacity {label.mca:g} A, but the motors give {forms[0]:.1f} or {forms[1]:.1f} A"
            )
    if label.mca is not None and label.amps is not None and label.mca < 0.98 * label.amps:
        found.append(f"ampacity {label.mca:g} A is less than {label.amps:g} A")
    return found


def _has_unlisted_load(label: RatingLabel) -> bool:
    """A named part without a current of its own makes the sum incomplete."""
    return any(part.role == "part" and part.amps is not None for part in label.parts)


def _heat_findings(label: RatingLabel) -> list[str]:
    apparent = _volt_amps(label)
    drawn = label.watts if label.watts is not None else apparent
    if label.btu_h is None or drawn is None or drawn <= 0.0:
        return []
    if label.btu_h < _LEAST_BTU_PER_WH * drawn * (1.0 if label.watts is not None else 0.75):
        return [f"{label.btu_h:g} BTU/h is too little for {drawn:.0f} VA: a digit missing?"]
    return []
