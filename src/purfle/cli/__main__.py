"""`python -m purfle.cli`, the same as the command `purfle`."""

import sys

from purfle.cli.main import main

if __name__ == "__main__":  # a second process imports this module too
    sys.exit(main())
