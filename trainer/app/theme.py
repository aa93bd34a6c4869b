"""One set of colours, from cloth, chalk, ball and wood."""

from textual.theme import Theme

from trainer.pictures import colours
from trainer.pictures.colours import Colour


def _hex(colour: Colour) -> str:
    return "#{:02x}{:02x}{:02x}".format(*colour)


CLUB_ROOM = Theme(
    name="club-room",
    primary=_hex(colours.CHALK),
    secondary=_hex(colours.AMBER),
    accent=_hex(colours.AMBER),
    foreground=_hex(colours.CUE_BALL),
    background=_hex(colours.ROOM),
    surface=_hex(colours.ROOM),
    panel="#22282e",
    success="#7fc79a",
    warning=_hex(colours.AMBER),
    error="#ef8a62",
    dark=True,
    variables={
        "answer-key": _hex(colours.CHALK),
        "quiet": "#98a29c",
        "footer-background": _hex(colours.ROOM),
        "footer-key-foreground": _hex(colours.CHALK),
        "footer-description-foreground": "#98a29c",
        "footer-item-background": _hex(colours.ROOM),
        "footer-key-background": _hex(colours.ROOM),
    },
)
