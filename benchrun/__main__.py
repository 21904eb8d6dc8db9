"""`python -m benchrun` does what `benchrun` does."""

import sys

from benchrun.cli import main

sys.exit(main())
