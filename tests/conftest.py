"""What holds for the whole run of the tests."""

from __future__ import annotations

import os

from hypothesis import settings

# Property tests draw new cases at every run of a person. What decides whether a change lands
# must give the same answer twice, so there the cases are derived from the tests themselves.
settings.register_profile("landing", derandomize=True, deadline=None)
if os.environ.get("CI"):
    settings.load_profile("landing")
