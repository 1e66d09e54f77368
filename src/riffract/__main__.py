"""`python -m riffract` is the command `riffract`."""

import sys

from riffract.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
