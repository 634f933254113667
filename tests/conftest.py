"""What all tests share: hypothesis draws the same examples each time, and no clock decides."""

import os

from hypothesis import settings

#: DRYDOWN_SEED draws others, printed by hypothesis where one fails.
settings.register_profile("drydown", deadline=None, derandomize="DRYDOWN_SEED" not in os.environ)
settings.load_profile("drydown")
