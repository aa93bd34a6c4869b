"""What the terminal is known to draw. None can be asked, and a glyph it lacks is an empty box.

So a set is claimed only for terminals that are known to draw the glyphs themselves, whatever the font;
where nothing is known it is the blocks that nearly every terminal font has. Source, where no other is
named: the survey arewelegacycomputingyet.com, January 2026, which counts glyph by glyph what a terminal
draws; versions are those of the terminals' own release notes.
"""

from collections.abc import Mapping

from trainer.pictures import GLYPH_SETS, GlyphSet
from trainer.pictures.glyphs import coverages

OVERRIDE = "TRAINER_GLYPHS"  # names a set, and goes before all that is known
DEFAULT: GlyphSet = "quadrants"

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
    wanted = environ.get(OVERRIDE, "").strip().lower()
    for glyphs in GLYPH_SETS:
        if wanted == glyphs:
            return glyphs
    if wanted:
        raise ValueError(f"{OVERRIDE}={wanted!r} isn't a set of glyphs; allowed: {', '.join(GLYPH_SETS)}")
    term = environ.get("TERM", "").strip().lower()
    known: GlyphSet = _BY_TERM.get(term, DEFAULT)
    if not term or (term.startswith(_SHARED) and term not in _BY_TERM):
        known = min(_marks(environ), default=DEFAULT, key=GLYPH_SETS.index)
    if environ.get("TMUX") or environ.get("STY") or term.startswith(("tmux", "screen")):
        return min(known, DEFAULT, key=GLYPH_SETS.index)
    return known


def _marks(environ: Mapping[str, str]) -> list[GlyphSet]:
    """What is known of each terminal that shows itself by a variable of its own."""
    found: list[GlyphSet] = [DEFAULT for name in _OTHERS if environ.get(name)]
    program = environ.get("TERM_PROGRAM", "").strip().lower()
    if program:
        found.append(_BY_PROGRAM.get(program, DEFAULT))
    if environ.get("KITTY_WINDOW_ID"):
        found.append("slanted")
    version = environ.get("VTE_VERSION", "").strip()
    if version:
        new = version.isascii() and version.isdigit() and int(version) >= _VTE_SLANTED
        found.append("slanted" if new else DEFAULT)
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
