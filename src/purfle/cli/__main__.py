"""`python -m purfle.cli`, the same as the command `purfle`."""

import sys

from purfle.cli.main import main

sys.exit(main())
