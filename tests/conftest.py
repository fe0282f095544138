"""Tests start Python some hundred times: what it compiles is kept, also where the environment says not to."""

import os
import sys

os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # two runs share two cores, and matrices here are small
