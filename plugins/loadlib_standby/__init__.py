"""Standby source: will it carry the house, in which order, for how long.

A consumer of the load profile document and of nothing else. Where to look:

====================  =====================================================================
``legs``              watts and amps per leg, neutral, capacity of breakers and services
``motors``            full-load and locked-rotor current, start VA, sag, voltage dip
``wire``              resistance, voltage drop, cord and wire ampacity
``chain``             every limit between source and panel, the smallest named
``derate``            altitude and temperature, by the name of the rule
``fuel``              the Willans line, hours per tank, cans, heat content
``battery``           autonomy and size of a battery
``energy``            cooling capacity to watts, logged energy, heaters on another voltage
``source_file``       the source file (TOML); ``case_file`` the outage case
``check``             the verdict; ``overload`` expected overloads
``restore``           order, waits, what stays off; ``sequence`` is the optimiser
``choose``            ratings against overloads; ``live`` at the panel; ``card`` the page
====================  =====================================================================
"""
