"""Types of the arrays that go through the package."""

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Complexes = npt.NDArray[np.complex128]
