"""Everything that meets the outside: files, the command line, the window."""

import os

# Before numpy is loaded: more threads change the last digits of a solved batten.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
