"""Whether property tests look for new examples (`make torture`) or repeat their own."""

import os

WANDERING = os.environ.get("HYPOTHESIS_PROFILE") == "wander"
