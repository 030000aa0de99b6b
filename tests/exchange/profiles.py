"""Profiles for tests of exchange and consumers: drawn at random, and a small fixed one."""

from __future__ import annotations

from hypothesis import strategies as st

from loadlib.core.household import Circuit
from loadlib.core.load import Load, flat
from loadlib.core.profile import ClaimRecord, Demand, LoadProfile, Peak
from loadlib.core.ranges import Range

numbers = st.floats(0, 1e7, allow_nan=False)
ranges = st.lists(numbers, min_size=3, max_size=3).map(lambda v: Range(*sorted(v)))
words = st.text(st.characters(codec="utf-8", exclude_categories=("Cs",)), max_size=20)


@st.composite
def loads(draw: st.DrawFn, key: str) -> Load:
    share = draw(st.floats(0, 1))
    return Load(
        id=key,
        name=draw(words),
        category=draw(words),
        kind="motor",
        leg_share=(share, 1.0 - share),
        line_to_line=draw(st.booleans()),
        running_w=draw(ranges),
        power_factor=Range(0.7, 0.8, 0.9),
        start_va=draw(st.none() | ranges),
        start_s=draw(ranges),
        standby_w=draw(ranges),
        duty=flat(draw(st.floats(0, 1))),
        duty_belief=draw(ranges),
        starts_per_h=flat(draw(numbers)),
        may_be_off_s=draw(st.none() | numbers),
        sources=tuple(draw(st.lists(words, max_size=2))),
    )


@st.composite
def profiles(draw: st.DrawFn) -> LoadProfile:
    keys = draw(st.lists(st.text(min_size=1, max_size=5), unique=True, max_size=3))
    keys = [key for key in keys if key.isprintable()]
    return LoadProfile(
        house=draw(words),
        system="120/240",
        legs=("A", "B"),
        service_a=draw(st.none() | numbers),
        circuits=(Circuit("c", (1, 3), "AB", 20.0),),
        loads=tuple(draw(loads(key)) for key in keys),
        demand=(Demand("whole", *[flat(draw(numbers)) for _ in range(5)]),),
        peaks=(Peak("whole", 3600, "year", draw(ranges), "measured", draw(words)),),
        energy_wh_by_month=tuple(draw(ranges) for _ in range(12)),
        energy_wh_per_year=draw(ranges),
        claims=(
            ClaimRecord(
                "nameplate",
                draw(words),
                "x",
                "running_w",
                "W",
                draw(ranges),
                draw(ranges),
                draw(numbers),
                1.0,
                "prior",
                draw(words),
            ),
        ),
        missing=tuple(draw(st.lists(words, max_size=2))),
    )
