"""`python -m formulas.engine predict|limit|search`: the engine from a shell, without Django."""

import sys

from formulas.engine.command import main

if __name__ == "__main__":
    sys.exit(main())
