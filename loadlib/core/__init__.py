"""The pure part: numpy and the standard library; no file, database, clock or pint.

Units are fixed inside: W, VA, A, V, s, Wh. Names that hold a quantity end in the unit.
Time is an aware datetime at the edges and UTC epoch seconds inside; a slot covers
``[start, start + step)`` and its value is the mean over the slot.
"""
