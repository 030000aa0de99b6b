"""What the hands do before the first step, after a trip and on the way back."""

from __future__ import annotations

from loadlib_standby.source import Source

__all__ = ["all_off", "before_first_step", "way_back"]

_OFF = {
    "interlock": "ALL CIRCUIT BREAKERS OFF",
    "fixed circuits": "ALL SWITCHES OF THE TRANSFER EQUIPMENT OFF",
    "cords": "UNPLUG EVERYTHING FROM THE CORDS",
}

_KNOW = "KNOW IT BY STREET LIGHTS, NEIGHBOURS, THE METER'S DISPLAY"

_TO_BACK = {
    "interlock": (
        "INLET BREAKER OFF",
        "INTERLOCK BACK, MAIN BREAKER ON",
        "CIRCUITS ON ONE BY ONE",
    ),
    "fixed circuits": ("EACH SWITCH BACK TO THE STREET, ONE BY ONE",),
    "cords": ("BACK INTO THE WALL OUTLETS, ONE BY ONE",),
}


def all_off(source: Source) -> str:
    """Everything off, by the way of connecting."""
    return _OFF[source.connection]


def before_first_step(source: Source) -> tuple[str, ...]:
    """What the hands do before the first step."""
    way, generator = source.connection, source.generator is not None
    what = "SET" if source.battery is None else "INVERTER"
    start = []
    if generator:
        cord = ", CORDS LAID WHERE NOBODY TRIPS" if way == "cords" else ""
        if way != "cords":
            cord = ", CORD INTO THE INLET AND INTO THE SET"
        if source.battery is not None:
            cord = ", ITS CORD TO THE CHARGER"
        start = [f"SET OUTDOORS{cord}", "START THE SET, LET IT WARM UP"]
    if source.battery is not None:
        start.append("INVERTER ON")
    if way == "interlock":
        first = ("MAIN BREAKER OFF", _OFF[way])
        return (*first, *start, "INTERLOCK OVER, INLET BREAKER ON")
    if way == "fixed circuits":
        return (_OFF[way], *start, f"EACH SWITCH TO THE {what} IN THE ORDER BELOW")
    return ("UNPLUG THE APPLIANCES ON THE LIST FROM THE WALL", *start, "PLUG IN IN THE ORDER BELOW")


def way_back(source: Source) -> tuple[str, ...]:
    """The way back when mains return."""
    way = source.connection
    last = ["INVERTER OFF"] if source.battery is not None else []
    last += ["STOP THE SET AND LET IT COOL"] if source.generator is not None else []
    return (_KNOW, _OFF[way], *_TO_BACK[way], *last)
