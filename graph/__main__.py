"""`python -m graph`: ask, solve, check, convert, parts."""

import sys

from graph.cli.main import main

if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
