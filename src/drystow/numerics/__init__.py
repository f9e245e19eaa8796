"""Number types and small numerical tools that every layer may use."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Numeric = float | Array
"""A float or an array of floats; functions give back what they were given."""
