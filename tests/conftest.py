"""What all tests share: property tests draw the same examples on every machine.

``HYPOTHESIS_PROFILE=random`` draws new ones, to look for what the usual ones miss.
"""

import os

from hypothesis import settings

settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.register_profile("random", deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "repeatable"))
