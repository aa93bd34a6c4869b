"""The names that levels and commands may use, and text that comes from outside.

Nothing is imported here: the commands' help needs them.
"""

DRILLS = (
    *("band", "aim", "slide", "judge", "same", "edge"),
    *("throw", "cushion", "leave", "send", "straight", "back", "pick"),
)
VIEWS = ("plan", "down", "standing")
GLYPHS = (
    "plain",
    "halves",
    "quadrants",
    "sextants",
    "slanted",
)  # from the poorest to the richest


def plain(text: str) -> str:
    """The text with a replacement mark for everything that isn't printable, so that no terminal obeys it."""
    return "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text)
