"""Tasks that fail. Other processes import this, so it imports next to nothing."""

import os
from collections.abc import Callable


def raises(number: int, said: Callable[[int], object]) -> int:
    """Raises, for one number."""
    said(number)
    if number == 2:
        raise LookupError("number 2 is not here")
    return number


def dies(number: int, said: Callable[[int], object]) -> int:
    """Ends its process, for one number."""
    if number == 2:
        os._exit(3)
    return number
