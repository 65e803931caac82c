"""`python -m frostkit`: the command line where no `frostkit` is on the path."""

import sys

from frostkit.show.cli import main

if __name__ == "__main__":
    sys.exit(main())
