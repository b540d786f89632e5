"""`python -m formulas.engine predict|limit|search|simulate`: from a shell, without Django."""

import os
import sys

from formulas.engine.cli.command import main

if __name__ == "__main__":
    try:
        code = main()
        sys.stdout.flush()
    except BrokenPipeError:  # the reader, such as `head`, has seen enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        code = 0
    sys.exit(code)
