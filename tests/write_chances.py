"""Write how hard the built-in levels are anew, after a change to them or to how that is worked out.

.venv/bin/python tests/write_chances.py
"""

from trainer.levels.chances import key_of, write
from trainer.levels.level import level_chance
from trainer.levels.shelf import open_shelf


def anew() -> dict[str, float]:
    """The chances of all built-in levels, by what stands for them."""
    return {key_of(level): level_chance(level) for level in open_shelf().levels}


if __name__ == "__main__":
    write(anew())
