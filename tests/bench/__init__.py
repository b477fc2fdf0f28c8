"""What takes too long for the tests, and how long things take: each by ``python -m tests.bench.NAME``."""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the command line has it: two threads of BLAS wait for each other
