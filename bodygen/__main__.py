"""``python -m bodygen``."""

import sys

from bodygen.cli import main

sys.exit(main())
