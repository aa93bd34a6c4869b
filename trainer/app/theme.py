"""The colours of the screen, from cloth, chalk, ball and wood; and those of any other theme, made legible.

What text means has one colour, whatever the theme: ``$key`` what a key is, ``$head`` a heading, ``$quiet``
what need not be read, ``$good``, ``$warn`` and ``$bad``, and ``$on-chosen`` on ``$chosen`` what is chosen.
How well that can be read is measured by its contrast. Source: W3C, Web Content Accessibility Guidelines 2.2,
success criterion 1.4.3 and the definitions of relative luminance and contrast ratio.
"""

from collections.abc import Iterable, Mapping

from textual.color import Color, ColorParseError
from textual.theme import Theme

from trainer.pictures import colours
from trainer.pictures.colours import CLUB, Colour, Scheme, linear


def hex_of(colour: Colour) -> str:
    """A colour as Textual's styles say it."""
    return "#{:02x}{:02x}{:02x}".format(*colour)


CLUB_ROOM = Theme(
    name="club-room",
    primary=hex_of(colours.CHALK),
    secondary=hex_of(colours.AMBER),
    accent=hex_of(colours.AMBER),
    foreground=hex_of(colours.CUE_BALL),
    background=hex_of(colours.ROOM),
    surface=hex_of(colours.ROOM),
    panel="#22282e",
    success="#7fc79a",
    warning=hex_of(colours.AMBER),
    error="#ef8a62",
    dark=True,
    variables={"quiet": "#98a29c"},
)
DAYLIGHT = Theme(  # the same room by day: paper, dark wood, chalk in shade, cloth
    name="daylight",
    primary="#1f5c85",
    secondary="#7a4e12",
    accent="#7a4e12",
    foreground=hex_of(colours.RAIL_EDGE),
    background="#f3efe7",
    surface="#f3efe7",
    panel="#e4dece",
    success="#166044",
    warning="#7a4e12",
    error="#9a3412",
    dark=False,
    variables={"quiet": "#625b4e"},
)
BRIGHT = Theme(  # nothing in between: as much contrast as there is
    name="high-contrast",
    primary="#a8ddff",
    secondary="#ffe27a",
    accent="#ffe27a",
    foreground="#ffffff",
    background="#000000",
    surface="#000000",
    panel="#1c1c1c",
    success="#8dffb4",
    warning="#ffe27a",
    error="#ffb199",
    dark=True,
    variables={"quiet": "#d6d6d6"},
)
OWN = (CLUB_ROOM, DAYLIGHT, BRIGHT)


def scheme_of(theme: Mapping[str, str], ours: bool) -> Scheme:
    """What pictures look like in a theme, given its variables and whether it is the club room's.

    A theme that leaves colours to the terminal has pictures as by night.
    """
    try:
        ground, ink, head, key = (
            _opaque(theme[n], theme) for n in ("background", "foreground", "head", "key")
        )
    except (ColorParseError, KeyError):
        return CLUB
    if ours or ground.ansi is not None or ink.ansi is not None:
        return CLUB
    grid, true, interval = (ground.blend(ink, share).rgb for share in (0.14, 0.55, 0.18))
    cloth = Color(*colours.CLOTH)
    chalk, quiet = (legible(Color(*of), [cloth]).rgb for of in (colours.CHALK, colours.MARK_QUIET))
    if ground == BLACK:  # as much contrast as there is
        chalk, quiet = key.rgb, ink.rgb
    words = _opaque(theme["quiet"], theme).rgb
    return Scheme(ground.rgb, ink.rgb, words, grid, true, interval, head.rgb, chalk, quiet)


# What a text is to mean, and the colour of a theme that it has, or the nearest that can be read.
MEANT = {
    "foreground": "foreground",
    "key": "primary",
    "head": "secondary",
    "quiet": "quiet",
    "good": "success",
    "warn": "warning",
    "bad": "error",
}
GROUNDS = ("background", "panel")  # what text stands on
QUIET = 0.35  # of the way from text to ground, where a theme has no quiet text of its own


def spoken_for(theme: Mapping[str, str]) -> dict[str, str]:
    """The variables of the screen's style that follow from a theme's: each text can be read on each ground.

    A terminal's own 16 colours are left as they are, since nobody knows them.
    """
    try:
        known = {name: _opaque(theme[name], theme) for name in (*MEANT.values(), *GROUNDS) if name in theme}
    except ColorParseError:
        known = {}
    if any(colour.ansi is not None for colour in known.values()) or not known:
        found = {name: theme.get(own, theme["foreground"]) for name, own in MEANT.items()}
        found |= {"chosen": theme["primary"], "on-chosen": "ansi_bright_white"}
    else:
        grounds = [known[name] for name in GROUNDS]
        known.setdefault("quiet", known["foreground"].blend(grounds[0], QUIET))
        found = {name: legible(known[own], grounds).hex for name, own in MEANT.items()}
        found["chosen"] = found["key"]
        found["on-chosen"] = legible(known["background"], [Color.parse(found["key"])]).hex
    ground = theme["background"]
    return found | {
        "footer-background": ground,
        "footer-item-background": ground,
        "footer-key-background": ground,
        "footer-key-foreground": found["key"],
        "footer-description-foreground": found["quiet"],
    }


def _opaque(said: str, theme: Mapping[str, str]) -> Color:
    """A colour as it comes out on the theme's ground."""
    colour = Color.parse(said)
    return Color.parse(theme["background"]).blend(colour.with_alpha(1), colour.a) if colour.a < 1 else colour


# --- Contrast -----------------------------------------------------------------------------------------

LEAST = 4.5  # for text of ordinary size
STEPS = 100
BLACK, WHITE = Color(0, 0, 0), Color(255, 255, 255)


_LINEAR: list[float] = linear(range(256)).tolist()  # hundreds of colours are tried at a start


def luminance(colour: Color) -> float:
    """Relative luminance, 0 (black) to 1 (white)."""
    red, green, blue = (_LINEAR[tone] for tone in colour.rgb)
    return float(0.2126 * red + 0.7152 * green + 0.0722 * blue)


def contrast(one: Color, other: Color) -> float:
    """Contrast ratio of two opaque colours, 1 to 21."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def legible(colour: Color, grounds: Iterable[Color], least: float = LEAST) -> Color:
    """The colour nearest to one, on its way to white or to black, that can be read on each of these grounds.

    Where there is none, the better of white and black.
    """
    grounds = list(grounds)

    def worst(tried: Color) -> float:
        return min(contrast(tried, ground) for ground in grounds)

    for step in range(STEPS + 1):
        for end in (WHITE, BLACK):
            tried = colour.blend(end, step / STEPS) if step else colour
            if worst(tried) >= least:
                return tried
    return max((WHITE, BLACK), key=worst)
