"""What every test runs under: compiled files are kept, also where the environment says not to, and nothing is timed."""

import os
import sys

from hypothesis import settings

os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # two runs share two cores, and matrices here are small
settings.register_profile("untimed", deadline=None)  # a busy machine is no fault
settings.load_profile("untimed")
