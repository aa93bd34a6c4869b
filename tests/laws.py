"""Properties over random inputs: over some in the quick tests, over many more in the long ones."""

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

Law = Callable[..., None]


def law(*of: st.SearchStrategy[Any], some: int = 30, many: int = 90) -> Callable[[Law], Law]:
    """A test that a function finds nothing wrong with what is drawn for its arguments."""

    def as_test(check: Law) -> Law:
        @pytest.mark.parametrize("count", [some, pytest.param(many, marks=pytest.mark.long)])
        def test(count: int) -> None:
            drawn = settings(max_examples=count, deadline=None, derandomize=True, database=None)
            drawn(given(*of)(check))()

        test.__name__, test.__doc__ = check.__name__, check.__doc__
        return test

    return as_test
