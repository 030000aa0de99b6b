"""The cautions that go with any answer about a source, panel, breaker or cord.

In plain words of our own. The facts behind them: US Consumer Product Safety Commission,
"Carbon monoxide information center" and generator fact sheets (outdoors only, 20 ft from
the house, never in a garage, alarms); NFPA 70 (NEC) 702.5 (transfer equipment). Lists of
distances differ (10 to 25 ft); 20 ft is taken as the least.
"""

from __future__ import annotations

__all__ = ["CLAMP", "ESTIMATE", "SOURCE", "SURVEY"]

ESTIMATE: tuple[str, ...] = (
    "All results are estimates with ranges, not assurances. A licensed electrician, the "
    "permit and your local code decide.",
)

SOURCE: tuple[str, ...] = (
    "Carbon monoxide kills without warning: run a generator outdoors only, at least 20 ft "
    "(6 m) from the house and away from doors, windows and vents. Never in a garage, shed, "
    "cellar or on a porch, not even with the doors open. Have working CO alarms.",
    "Never backfeed: connect to house wiring only through an interlock or transfer "
    "equipment. Never use a cord with two plugs.",
    "Inlet, interlock and wiring are work for a licensed electrician with a permit; local "
    "code decides.",
    "Refuel only with the engine off and cold. Keep the set dry.",
    "The instructions of the equipment govern.",
    *ESTIMATE,
)

CLAMP: tuple[str, ...] = (
    "A clamp on panel conductors means an open panel: shock and arc flash. That is for a "
    "qualified person only, and covers go back on afterwards. Use the utility meter's "
    "display, a plug-in meter or the source's own display first.",
)

SURVEY: tuple[str, ...] = (
    "Before you switch a breaker off: is anyone on a medical device? Is there a sump pump, "
    "a freezer, an incubator or a running computer on it?",
)
