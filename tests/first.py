"""The tables that every quick test over tables looks at; the tables between come with the slow tests."""

import pytest

from trainer.geometry.tables import TABLES

# Pockets of two kinds and balls of three sizes at once.
FIRST = ("snooker", "pool-9", "small-ball")
FIRST_TABLES = [t if t.name in FIRST else pytest.param(t, marks=pytest.mark.slow) for t in TABLES.values()]
