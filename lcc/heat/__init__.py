"""Heat through roofs, hour by hour over a periodic year, as arrays."""

import numpy as np

# A year's arrays take 5 MB and are given back at its end. The C library hands memory to the system
# and fetches it again, page by page, for all that exceeds twice the largest block yet given back,
# which took a third of a year's time. This block is never written to, so it takes no memory.
np.empty(8 << 20, np.uint8)
