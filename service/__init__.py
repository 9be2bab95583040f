"""Handspan: a register of upper-limb devices that knows when the next socket is due.

The register is a loop: a measurement moves the forecast, the forecast asks for a socket, the socket is worn and
measured again. Each package below is one room of it; `DEVELOPERS.md` has the map and the order of the rooms.
"""

import os

# Numpy's matrices here are a few dozen rows: threads of the linear algebra library cost four times what they save, and
# the library reads this once, when numpy is first imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
