"""How much is tried: a plain run takes what differs most and ends in minutes; CI takes the rest as well.

BODYGEN_MORE=1: every demo, every kind of file, more random ones (``bash .ci/run more``). BODYGEN_FULL=1: fifty random
shapes besides.
"""

import os

import pytest

FULL = bool(os.environ.get("BODYGEN_FULL"))
MORE = FULL or bool(os.environ.get("BODYGEN_MORE"))
only_with_more = pytest.mark.skipif(not MORE, reason="BODYGEN_MORE=1 asks for it, as CI does")
