"""What is left of an engine's rating at altitude and in heat, by the name of the rule.

Published rules contradict one another, so none is silently right: the rule is named in every
answer. Starting capacity falls with running capacity.
"""

from __future__ import annotations

from loadlib_standby.engine import InputError
from loadlib_standby.tables import find, table

__all__ = [
    "DEFAULT_RULE",
    "GAS_SHARES",
    "derated_w",
    "iso_3046_share",
    "pressure_kpa",
    "remaining_share",
    "rules",
    "sae_j1349_factor",
    "slope_share",
]

DEFAULT_RULE = "textbook spark"
"""Read in a source; the rule of makers of small sets is from memory and takes more."""

GAS_SHARES = {"gasoline": 1.0, "diesel": 1.0, "propane": 0.9, "natural gas": 0.825}
"""Output of a set rated on gasoline when it burns gas: rule of thumb from memory (−10 % and
−15 to −20 %); the set's own gas rating replaces it."""


def rules() -> dict[str, str]:
    """Names of the rules and what each says."""
    return {row["rule"]: row["words"] for row in table("derating")}


def slope_share(
    altitude_ft: float,
    outdoor_f: float,
    *,
    reference_ft: float = 0.0,
    share_per_1000_ft: float = 0.0,
    reference_f: float = 77.0,
    share_per_10_f: float = 0.0,
    combine: str = "multiply",
) -> float:
    """Share of the rating left by two straight slopes, losses multiplied or added.

    ``altitude_ft`` [ft] above ``reference_ft`` [ft]; ``outdoor_f`` [°F] above
    ``reference_f`` [°F]; nothing is gained below either.

    >>> round(7000 * slope_share(5000, 97, share_per_1000_ft=0.035, share_per_10_f=0.01), 1)
    5659.5
    """
    high = max(altitude_ft - reference_ft, 0.0) / 1000.0 * share_per_1000_ft
    hot = max(outdoor_f - reference_f, 0.0) / 10.0 * share_per_10_f
    share = 1.0 - high - hot if combine == "add" else (1.0 - high) * (1.0 - hot)
    return max(share, 0.0)


def pressure_kpa(altitude_ft: float) -> float:
    """Air pressure of the standard atmosphere (ISO 2533). ``altitude_ft`` [ft]. [kPa]"""
    return float(101.325 * (1.0 - 2.25577e-5 * altitude_ft * 0.3048) ** 5.25588)


def sae_j1349_factor(dry_pressure_mbar: float, temperature_c: float) -> float:
    """Correction factor of SAE J1349 (June 1990); site power = rated / factor.

    1.180 (990 / P) ((T + 273) / 298)^½ − 0.18; P in mbar, ``temperature_c`` [°C].
    """
    if dry_pressure_mbar <= 0.0:
        raise InputError(f"pressure {dry_pressure_mbar:g} mbar")
    warmth: float = ((temperature_c + 273.0) / 298.0) ** 0.5
    return 1.180 * (990.0 / dry_pressure_mbar) * warmth - 0.18


def iso_3046_share(
    pressure_kpa: float, temperature_k: float, mechanical_efficiency: float = 0.8
) -> tuple[float, float]:
    """k and α of ISO 3046-1 for dry air, naturally aspirated (formula from memory).

    k = (p / 100 kPa)(298 K / T)^½, α = k − 0.7 (1 − k)(1/η − 1).
    """
    k = pressure_kpa / 100.0 * (298.0 / temperature_k) ** 0.5
    return k, k - 0.7 * (1.0 - k) * (1.0 / mechanical_efficiency - 1.0)


def remaining_share(rule: str, altitude_ft: float = 0.0, outdoor_f: float = 60.0) -> float:
    """Share of the rating left at ``altitude_ft`` [ft] and ``outdoor_f`` [°F] by a named rule.

    Never above 1: the rating is not raised by cold air. NotFound lists the rules.
    """
    row = find("derating", "derating rule", "rule", rule)
    if row["form"] == "slopes":
        return slope_share(
            altitude_ft,
            outdoor_f,
            reference_ft=float(row["reference_altitude_ft"] or 0.0),
            share_per_1000_ft=float(row["share_per_1000_ft"] or 0.0),
            reference_f=float(row["reference_f"] or outdoor_f),
            share_per_10_f=float(row["share_per_10_f"] or 0.0),
            combine=row["combine"],
        )
    site_kpa, outdoor_c = pressure_kpa(altitude_ft), (outdoor_f - 32.0) / 1.8
    if row["form"] == "pressure":
        return min(site_kpa / pressure_kpa(0.0), 1.0)
    if row["form"] == "SAE J1349":
        return min(1.0 / sae_j1349_factor(site_kpa * 10.0, outdoor_c), 1.0)
    return min(iso_3046_share(site_kpa, outdoor_c + 273.15)[1], 1.0)


def derated_w(rated_w: float, *factors: float) -> float:
    """Rating times every factor that applies (altitude, temperature, fuel). ``rated_w`` [W]

    [W]
    """
    left = rated_w
    for factor in factors:
        if not 0.0 <= factor <= 1.5:
            raise InputError(f"derating factor {factor:g}", hint="A share such as 0.9.")
        left *= factor
    return left
