"""The arrays of the core: one type for each kind of number."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]
Flags = NDArray[np.bool_]
Integers = NDArray[np.int64]
