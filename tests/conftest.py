"""Settings that all tests share."""

import os

from hypothesis import settings
from strictness import KERNEL_WARNINGS

# Kernels started by the notebook tests inherit this.
os.environ["PYTHONWARNINGS"] = KERNEL_WARNINGS

# The same examples on every run and every machine; no database on disk, no wall-clock limit.
settings.register_profile("steady", derandomize=True, deadline=None, database=None)
settings.load_profile("steady")
