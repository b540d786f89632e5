"""The formulary: lines, shades, chart, stock, and the colour engine."""

import os

# Before numpy is loaded: the engine's products are small, and threads of their own only fight
# with the other work on the machine (a job of 0.6 s took five to twenty).
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
