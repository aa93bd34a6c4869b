"""How many colours a terminal shows."""

from collections.abc import Mapping
from enum import IntEnum


class Depth(IntEnum):
    """How many colours a terminal shows."""

    TRUE = 1 << 24
    MANY = 256
    FEW = 16
    NONE = 0


NAMES = {"true": Depth.TRUE, "256": Depth.MANY, "16": Depth.FEW, "none": Depth.NONE} | {
    str(depth.value): depth for depth in Depth
}
OVERRIDE = "TRAINER_COLOURS"
FIRST_VTE = 3600  # VTE 0.36, the first with 24-bit colour; from memory
# Terminals whose name says 24 bits, wherever they are reached from; from memory.
TRUE_TERMS = ("xterm-kitty", "xterm-ghostty", "ghostty", "foot", "alacritty", "wezterm", "contour")
INSIDE = ("screen", "tmux")  # what holds the terminal outside shows no more than it says itself


def depth_named(text: str) -> Depth:
    """The depth of a name or number of colours.

    Raises
    ------
    ValueError
        For any other text; the message says what is allowed.
    """
    if text not in NAMES:
        raise ValueError(f"{text[:40]!r}: allowed is true (16777216), 256, 16 or none (0)")
    return NAMES[text]


def depth_for(environ: Mapping[str, str]) -> Depth:
    """The depth of the terminal that these variables tell of; where they tell nothing, none.

    ``TRAINER_COLOURS`` goes before all. ``NO_COLOR`` with any text in it means none
    (https://no-color.org).

    Raises
    ------
    ValueError
        For a ``TRAINER_COLOURS`` that names no depth.
    """
    if own := environ.get(OVERRIDE):
        try:
            return depth_named(own)
        except ValueError as error:
            raise ValueError(f"{OVERRIDE}: {error}") from None
    term = environ.get("TERM", "").lower()
    if environ.get("NO_COLOR") or term == "dumb":
        return Depth.NONE
    if environ.get("COLORTERM", "").lower() in ("truecolor", "24bit"):
        return Depth.TRUE
    if not term.startswith(INSIDE):
        vte = environ.get("VTE_VERSION", "")
        if environ.get("WT_SESSION") or (vte.isdecimal() and int(vte[:9]) >= FIRST_VTE):
            return Depth.TRUE
        if term.startswith(TRUE_TERMS) or term.endswith("-direct"):
            return Depth.TRUE
    if "256color" in term:
        return Depth.MANY
    return Depth.FEW if term else Depth.NONE
