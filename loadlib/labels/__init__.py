"""Rating labels: text as typed -> electrical facts, with doubts.

The way of the text: `text` cleans it, `scan` finds numbers and words, `groups` joins
numbers, `bind` decides which word belongs to which number, `roles` says what each figure
stands for, `supply` and `decide` follow the conventions of plates, `refuse` sends away
what is no load. `checks`, `bounds` and `explain` work on the finished reading.
"""

from loadlib.labels.bounds import RunningAmps, running_a_bounds, start_va, upper_bound_va
from loadlib.labels.checks import contradictions, plate_is_consistent
from loadlib.labels.explain import explain
from loadlib.labels.rating import LabelPart, RatingLabel
from loadlib.labels.reader import read_label

__all__ = [
    "LabelPart",
    "RatingLabel",
    "RunningAmps",
    "contradictions",
    "explain",
    "plate_is_consistent",
    "read_label",
    "running_a_bounds",
    "start_va",
    "upper_bound_va",
]
