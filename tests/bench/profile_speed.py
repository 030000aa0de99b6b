"""Demand of a 60-appliance house, 12 × 24 month-hours, whole and per leg, on a 25 W grid.

Two floors, each the convolutions alone for the same powers and duties:

* ``numpy.convolve``, one call a load, month-hour and place, with the load's dense law;
* the same as shifted adds over 24 month-hours at once in arrays made beforehand, which is
  about the least that numpy can do: no quantiles, no means, no objects.

    python tests/bench/profile_speed.py

Hold: at most 2 times the second (and so far below the first). The rest of a profile (peaks
from simulated years, energy) is printed beside, in milliseconds, for information.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from loadlib.core.demand import Processes, crossings, processes
from loadlib.core.load import Load, grid
from loadlib.core.ranges import Range
from loadlib.estimators.assemble import STEP_W, demand_of
from loadlib.estimators.peaks import model_peaks

RUNS = 7
LEGS = ("A", "B")
Array = NDArray[np.float64]


def house(size: int = 60, seed: int = 7) -> list[Load]:
    """Loads of invented sizes: a quarter on both legs, use that changes by month and hour."""
    rng = np.random.default_rng(seed)
    loads = []
    for k in range(size):
        both = k % 4 == 0
        watts = float(rng.choice([9, 60, 150, 400, 1000, 1500])) * rng.uniform(0.8, 1.2)
        watts = rng.uniform(1000, 5500) if both else watts
        duty = np.outer(rng.uniform(0.2, 1.8, 12), rng.uniform(0.2, 1.8, 24)) * 0.08
        loads.append(
            Load(
                id=f"load {k}",
                name=f"load {k}",
                category="",
                kind="motor",
                leg_share=(0.5, 0.5) if both else ((1.0, 0.0) if k % 2 else (0.0, 1.0)),
                line_to_line=both,
                running_w=Range.around(watts, 1.3),
                power_factor=Range.exact(0.9),
                start_va=Range.around(4.0 * watts, 1.5),
                start_s=Range.exact(0.3),
                standby_w=Range.exact(1.0),
                duty=grid(np.minimum(duty, 1.0)),
                duty_belief=Range(0.6, 1.0, 1.6),
                starts_per_h=grid(duty * 4.0),
                thermostatic=both,
            )
        )
    return loads


def laws(place: Processes) -> tuple[list[tuple[int, float]], list[Array], int]:
    """Grid steps and rest of each power, duties, and the size of the whole law."""
    order = np.argsort(place.rise_w)
    steps = [divmod(float(place.rise_w[i]) / STEP_W, 1.0) for i in order]
    split = [(int(whole), part) for whole, part in steps]
    return split, [place.duty[i] for i in order], 1 + sum(whole + 1 for whole, _ in split)


def by_numpy_convolve(places: list[Processes]) -> None:
    """One call of numpy.convolve a load and month-hour."""
    for place in places:
        split, duties, _ = laws(place)
        for hour in range(288):
            law = np.ones(1)
            for (whole, part), duty in zip(split, duties, strict=True):
                kernel = np.zeros(whole + 2)
                kernel[0] = 1.0 - duty[hour]
                kernel[whole] += duty[hour] * (1.0 - part)
                kernel[whole + 1] += duty[hour] * part
                law = np.convolve(law, kernel)


def by_shifted_adds(places: list[Processes]) -> None:
    """In place, 24 month-hours at once, in arrays made beforehand."""
    for place in places:
        split, duties, size = laws(place)
        law, old, moved = (np.empty((24, size)) for _ in range(3))
        for first in range(0, 288, 24):
            law[:] = 0.0
            law[:, 0] = 1.0
            used = 1
            for (whole, part), duty in zip(split, duties, strict=True):
                on = duty[first : first + 24, None]
                np.copyto(old[:, :used], law[:, :used])
                law[:, :used] *= 1.0 - on
                for shift, weight in ((whole, on * (1.0 - part)), (whole + 1, on * part)):
                    np.multiply(old[:, :used], weight, out=moved[:, :used])
                    law[:, shift : shift + used] += moved[:, :used]
                used += whole + 1


def median_s(work: Callable[[], object], runs: int = RUNS) -> float:
    """Median wall time of ``runs`` runs after one that warms up. [s]"""
    work()
    times = []
    for _ in range(runs):
        started = time.perf_counter()
        work()
        times.append(time.perf_counter() - started)
    return statistics.median(times)


def main() -> None:
    """Print the ratios."""
    loads = house()
    places = [processes(loads, leg) for leg in (None, 0, 1)]
    ours = median_s(lambda: demand_of(loads, LEGS))
    adds = median_s(lambda: by_shifted_adds(places))
    calls = median_s(lambda: by_numpy_convolve(places), runs=1)
    print(
        f"profile demand: {ours / adds:.2f} x shifted adds alone (hold 2), "
        f"{ours / calls:.3f} x numpy.convolve alone; "
        f"{1e3 * ours:.0f} ms, floors {1e3 * adds:.0f} and {1e3 * calls:.0f} ms"
    )
    demand, _ = demand_of(loads, LEGS)
    whole = places[0]
    for name, work in (
        ("peaks of 24 simulated years", lambda: model_peaks(loads, LEGS, demand[0], 1)),
        ("crossings of 7 kW in 288 hours", lambda: crossings(whole, 7000.0)),
    ):
        print(f"  {name}: {1e3 * median_s(work, runs=3):.0f} ms")


if __name__ == "__main__":
    main()
