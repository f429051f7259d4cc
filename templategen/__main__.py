"""``python -m templategen``."""

import sys

from templategen.cli import main

if __name__ == "__main__":
    sys.exit(main())
