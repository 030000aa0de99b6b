"""Clamp and meter readings: bands, mistakes, power, and what a log shows. Pure numpy.

``spot`` turns a reading into volt-amperes and watts with their doubt, ``mistakes`` catches what
people get wrong, ``steps`` and ``cycles`` find what switches in a log, ``matching`` says which
appliance it may have been, ``logs`` sums a log up.

``matching`` rests on ``patterns`` (what is expected of an appliance), ``programmes`` (heats that
belong together), ``background`` (what nobody listed, learnt from the log), ``identity`` (who a
heap of like times on is) and ``laws`` (densities).
"""
