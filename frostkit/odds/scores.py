"""How good odds were, once it is known what happened."""

import numpy as np
from numpy.typing import ArrayLike, NDArray


def brier(share: ArrayLike, happened: ArrayLike) -> NDArray[np.float64]:
    """Mean squared distance of odds from what happened (1 or 0), over the last axis: 0 is best.

    Source: Brier 1950, Monthly Weather Review 78:1-3.

    >>> float(brier([0.1, 0.8], [0, 1]).round(6))
    0.025
    """
    return ((np.asarray(share, float) - np.asarray(happened, float)) ** 2).mean(-1)


def tenth(share: ArrayLike, classes: int = 10) -> NDArray[np.int64]:
    """Which class of equal width the odds fall in: 0 to classes - 1; 1 belongs to the last.

    >>> tenth([0.0, 0.1, 0.99, 1.0]).tolist()
    [0, 1, 9, 9]
    """
    return np.minimum((np.asarray(share, float) * classes + 1e-9).astype(int), classes - 1)
