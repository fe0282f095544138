"""Tests start Python some hundred times: what it compiles of the project is kept, also where the environment says no."""

import os
import sys

os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False
