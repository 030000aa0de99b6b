"""Makes ``heat_pump_minutes.csv``: two invented winter days, for tests and the demo only."""

from __future__ import annotations

import math
import random
from datetime import datetime, timedelta
from pathlib import Path


def main() -> None:
    draw = random.Random(7)
    lines = ["time,outdoor_c,watts,defrost,strips"]
    start = datetime(2026, 1, 10)
    for minute in range(2 * 1440):
        when = start + timedelta(minutes=minute)
        outdoor_c = -8.0 + 6.0 * math.sin((minute - 540) / 1440 * 2 * math.pi)
        duty = min(0.98, 0.45 - 0.035 * outdoor_c)
        on = minute % 30 < 30 * duty
        defrost = on and minute % 90 in (0, 1, 2, 3) and outdoor_c < 2
        strips = defrost or (on and outdoor_c < -11 and minute % 30 < 8)
        watts = 12.0
        if on:
            watts = 1900.0 + 28.0 * outdoor_c + draw.gauss(0, 25)
        if defrost:
            watts = 1300.0 + draw.gauss(0, 20)
        if strips:
            watts += 5000.0 + draw.gauss(0, 40)
        row = (f"{outdoor_c:.1f}", f"{max(watts, 0):.0f}", int(defrost), int(strips))
        lines.append(when.isoformat(timespec="minutes") + "," + ",".join(map(str, row)))
    path = Path(__file__).with_name("heat_pump_minutes.csv")
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
