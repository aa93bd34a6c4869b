"""Text from outside, fit for a terminal."""


def plain(text: str) -> str:
    """The text with a replacement mark for everything that isn't printable, so that no terminal obeys it."""
    return "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text)
