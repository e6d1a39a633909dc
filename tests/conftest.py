"""Set-up that every test shares."""

import os

# The matrices are small: a second BLAS thread costs more than it brings, and on a busy machine
# far more. It must be said before numpy is imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
