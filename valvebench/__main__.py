"""`python -m valvebench`."""

import sys

from valvebench.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
