"""What the terminal draws, how many colours it shows and how high its cells are, and who says so.

No glyph can be asked for, and one that a terminal lacks is an empty box. So a set is claimed only for
terminals that are known to draw the glyphs themselves, whatever the font; where nothing is known it is the
blocks that nearly every terminal font has. Source, where no other is named: the survey
arewelegacycomputingyet.com, January 2026, which counts glyph by glyph what a terminal draws; versions are
those of the terminals' own release notes.
"""

import sys
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum, IntEnum
from typing import Generic, TypeVar

from trainer.pictures import GLYPH_SETS, GlyphSet
from trainer.pictures.cells import coverages
from trainer.settings.settings import CELL_SHAPES as PLAUSIBLE  # anything else is nonsense

# --- Glyphs -----------------------------------------------------------------------------------------

GLYPHS_VARIABLE = "TRAINER_GLYPHS"  # names a set, and goes before all that is known
USUAL_GLYPHS: GlyphSet = "quadrants"

# TERM, for terminals that have a name of their own there.
_BY_TERM: dict[str, GlyphSet] = {
    "xterm-kitty": "slanted",  # sextants since 0.19.3; wedges with exact thirds since 2024
    "xterm-ghostty": "slanted",  # the whole block
    "foot": "slanted",  # wedges since 1.9
    "foot-extra": "slanted",
    "wezterm": "sextants",  # since 20210610, by its release notes; nothing sure of wedges
    "linux": "halves",  # the console's font has room for 256 or 512 glyphs
    "dumb": "plain",
    "unknown": "plain",
}
# TERM_PROGRAM. Terminals that draw sextants only of late and don't tell their version here, or draw
# their rows unequal, are left out: they get the default.
_BY_PROGRAM: dict[str, GlyphSet] = {
    "ghostty": "slanted",
    "wezterm": "sextants",
    "apple_terminal": "halves",  # leaves quadrants to the font
}
_VTE_SLANTED = 6000  # VTE_VERSION of 0.60: sextants; that wedges came with them is from memory
_SHARED = ("xterm", "vte", "gnome")  # beginnings of TERM that many use, so that variables must tell
# Variables by which a terminal shows itself that is known for nothing above the default.
_OTHERS = (
    "ALACRITTY_WINDOW_ID",
    "ITERM_SESSION_ID",
    "KONSOLE_VERSION",
    "TERMINAL_EMULATOR",
    "WT_SESSION",
    "XTERM_VERSION",
)

# One shape, two rows high, whose sides rise by a third of a cell from cell to cell.
_SHAPES: dict[GlyphSet, tuple[str, str]] = {
    "plain": (" .oOOOOo. ", " 'oOOOOo' "),
    "halves": (" ▄██████▄ ", " ▀██████▀ "),
    "quadrants": ("▗▄▟████▙▄▖", "▝▀▜████▛▀▘"),
    "sextants": (
        "\N{BLOCK SEXTANT-6}\N{BLOCK SEXTANT-456}\N{BLOCK SEXTANT-23456}████"
        "\N{BLOCK SEXTANT-13456}\N{BLOCK SEXTANT-356}\N{BLOCK SEXTANT-5}",
        "\N{BLOCK SEXTANT-2}\N{BLOCK SEXTANT-124}\N{BLOCK SEXTANT-12346}████"
        "\N{BLOCK SEXTANT-12345}\N{BLOCK SEXTANT-123}\N{BLOCK SEXTANT-1}",
    ),
    "slanted": (
        "\U0001fb48\U0001fb46\U0001fb42████\U0001fb4d\U0001fb51\U0001fb3d",
        "\U0001fb63\U0001fb67\U0001fb53████\U0001fb5e\U0001fb5c\U0001fb58",
    ),
}


def glyphs_for(environ: Mapping[str, str]) -> GlyphSet:
    """The richest set that the terminal is known to draw.

    Parameters
    ----------
    environ : mapping of str to str
        The environment.

    Returns
    -------
    GlyphSet
        What ``TRAINER_GLYPHS`` names, if it is set. Else what is known of the terminal: of several
        that have left marks (one was started from another) the poorest, never more than "quadrants"
        inside tmux or screen, and "quadrants" where nothing is known.

    Raises
    ------
    ValueError
        If ``TRAINER_GLYPHS`` is anything but the name of a set or empty; the message is one line.
    """
    wanted = environ.get(GLYPHS_VARIABLE, "").strip().lower()
    for glyphs in GLYPH_SETS:
        if wanted == glyphs:
            return glyphs
    if wanted:
        raise ValueError(
            f"{GLYPHS_VARIABLE}={wanted!r} isn't a set of glyphs; allowed: {', '.join(GLYPH_SETS)}"
        )
    term = environ.get("TERM", "").strip().lower()
    known: GlyphSet = _BY_TERM.get(term, USUAL_GLYPHS)
    if not term or (term.startswith(_SHARED) and term not in _BY_TERM):
        known = min(_marks(environ), default=USUAL_GLYPHS, key=GLYPH_SETS.index)
    if environ.get("TMUX") or environ.get("STY") or term.startswith(("tmux", "screen")):
        return min(known, USUAL_GLYPHS, key=GLYPH_SETS.index)
    return known


def _marks(environ: Mapping[str, str]) -> list[GlyphSet]:
    """What is known of each terminal that shows itself by a variable of its own."""
    found: list[GlyphSet] = [USUAL_GLYPHS for name in _OTHERS if environ.get(name)]
    program = environ.get("TERM_PROGRAM", "").strip().lower()
    if program:
        found.append(_BY_PROGRAM.get(program, USUAL_GLYPHS))
    if environ.get("KITTY_WINDOW_ID"):
        found.append("slanted")
    version = environ.get("VTE_VERSION", "").strip()
    if version:
        new = version.isascii() and version.isdigit() and int(version) >= _VTE_SLANTED
        found.append("slanted" if new else USUAL_GLYPHS)
    return found


def samples() -> list[str]:
    """Lines that show every set, from the poorest to the richest, two lines a set.

    Each has the set's name, one shape drawn in it, and the glyphs that it adds. The shape looks
    right if nothing splits it; a set whose glyphs come out as boxes or marks isn't for this terminal.
    """
    lines = []
    before = ""
    for glyphs in GLYPH_SETS:
        letters = "" if glyphs == "plain" else coverages(glyphs)[0]
        added = letters.removeprefix(before)
        half = (len(added) + 1) // 2
        for name, shape, part in zip(
            (glyphs, ""), _SHAPES[glyphs], (added[:half], added[half:]), strict=True
        ):
            lines.append(f"{name:<11}{shape}  {part}".rstrip())
        before = letters
    return lines


# --- Colours -----------------------------------------------------------------------------------------


class Depth(IntEnum):
    """How many colours a terminal shows."""

    TRUE = 1 << 24
    MANY = 256
    FEW = 16
    NONE = 0


DEPTH_NAMES = {"true": Depth.TRUE, "256": Depth.MANY, "16": Depth.FEW, "none": Depth.NONE} | {
    str(depth.value): depth for depth in Depth
}
COLOURS_VARIABLE = "TRAINER_COLOURS"
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
    if text not in DEPTH_NAMES:
        raise ValueError(f"{text[:40]!r}: allowed is true (16777216), 256, 16 or none (0)")
    return DEPTH_NAMES[text]


def depth_for(environ: Mapping[str, str]) -> Depth:
    """The depth of the terminal that these variables tell of; where they tell nothing, none.

    ``TRAINER_COLOURS`` goes before all. ``NO_COLOR`` with any text in it means none
    (https://no-color.org).

    Raises
    ------
    ValueError
        For a ``TRAINER_COLOURS`` that names no depth.
    """
    if own := environ.get(COLOURS_VARIABLE):
        try:
            return depth_named(own)
        except ValueError as error:
            raise ValueError(f"{COLOURS_VARIABLE}: {error}") from None
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


# --- The shape of its cells --------------------------------------------------------------------------

USUAL_ASPECT = 2.0


def aspect_of(cells: tuple[int, int], pixels: tuple[int, int]) -> float | None:
    """Height of a cell over its width, from a screen's size in both; None where that can't be."""
    if min(*cells, *pixels) <= 0:
        return None
    aspect = (pixels[1] / cells[1]) / (pixels[0] / cells[0])
    return aspect if PLAUSIBLE[0] <= aspect <= PLAUSIBLE[1] else None


def asked_aspect() -> float | None:
    """What the terminal on standard output says of its cells; None where it doesn't."""
    found = _asked_size()
    return None if found is None else aspect_of(*found)


def asked_cell() -> tuple[int, int] | None:
    """How many pixels a cell of that terminal is across and down; None where it doesn't say."""
    found = _asked_size()
    if found is None or aspect_of(*found) is None:
        return None
    (columns, rows), (wide, high) = found
    return wide // columns, high // rows


def _asked_size() -> tuple[tuple[int, int], tuple[int, int]] | None:
    """The terminal's columns and rows, and its width and height in pixels, where it says them."""
    if sys.__stdout__ is None:
        return None
    try:
        import fcntl
        import struct
        import termios

        said = fcntl.ioctl(sys.__stdout__.fileno(), termios.TIOCGWINSZ, struct.pack("HHHH", 0, 0, 0, 0))
        rows, cols, wide, high = struct.unpack("HHHH", said)
    except (ImportError, OSError, ValueError):
        return None
    return (cols, rows), (wide, high)


# --- Who says so -------------------------------------------------------------------------------------

T = TypeVar("T")


class Source(Enum):
    """Who says so, the first of these that says anything."""

    VARIABLE = "a variable"
    OWN = "the player's settings"
    KNOWN = "known of the terminal"
    USUAL = "usual where nothing is known"


@dataclass(frozen=True)
class Chosen(Generic[T]):
    """What is used, and who says so."""

    value: T
    source: Source


def chosen_glyphs(environ: Mapping[str, str], own: str | None) -> Chosen[GlyphSet]:
    """The glyphs that pictures are drawn with.

    Parameters
    ----------
    environ : mapping of str to str
        The environment.
    own : str, optional
        The set that the player's settings name.

    Raises
    ------
    ValueError
        If ``TRAINER_GLYPHS`` or ``own`` isn't the name of a set; the message is one line.
    """
    found = glyphs_for(environ)
    if environ.get(GLYPHS_VARIABLE, "").strip():
        return Chosen(found, Source.VARIABLE)
    if own is not None:
        for glyphs in GLYPH_SETS:
            if own == glyphs:
                return Chosen(glyphs, Source.OWN)
        raise ValueError(f"{own!r} isn't a set of glyphs; allowed: {', '.join(GLYPH_SETS)}")
    return Chosen(found, Source.USUAL if found == USUAL_GLYPHS else Source.KNOWN)


def chosen_colours(environ: Mapping[str, str], own: str | None) -> Chosen[Depth]:
    """How many colours pictures have; parameters and errors as in :func:`chosen_glyphs`.

    The player's settings go before ``NO_COLOR``, as https://no-color.org asks for.
    """
    found = depth_for(environ)
    if environ.get(COLOURS_VARIABLE):
        return Chosen(found, Source.VARIABLE)
    if own is not None:
        return Chosen(depth_named(own), Source.OWN)
    told = found in (Depth.TRUE, Depth.MANY) or environ.get("NO_COLOR") or environ.get("TERM") == "dumb"
    return Chosen(found, Source.KNOWN if told else Source.USUAL)


def chosen_shape(own: float | None, said: float | None) -> Chosen[float]:
    """Height of a cell over its width: the player's, else what the terminal says, else the usual."""
    if own is not None:
        return Chosen(own, Source.OWN)
    return Chosen(USUAL_ASPECT, Source.USUAL) if said is None else Chosen(said, Source.KNOWN)
