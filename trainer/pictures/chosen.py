"""What pictures are drawn with here, and who says so: a variable, the player, or the terminal."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from typing import Generic, TypeVar

from trainer.pictures import GLYPH_SETS, GlyphSet, depth, terminal
from trainer.pictures.depth import Depth, depth_for, depth_named
from trainer.pictures.terminal import glyphs_for

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
    if environ.get(terminal.OVERRIDE, "").strip():
        return Chosen(found, Source.VARIABLE)
    if own is not None:
        for glyphs in GLYPH_SETS:
            if own == glyphs:
                return Chosen(glyphs, Source.OWN)
        raise ValueError(f"{own!r} isn't a set of glyphs; allowed: {', '.join(GLYPH_SETS)}")
    return Chosen(found, Source.USUAL if found == terminal.DEFAULT else Source.KNOWN)


def chosen_colours(environ: Mapping[str, str], own: str | None) -> Chosen[Depth]:
    """How many colours pictures have; parameters and errors as in :func:`chosen_glyphs`.

    The player's settings go before ``NO_COLOR``, as https://no-color.org asks for.
    """
    found = depth_for(environ)
    if environ.get(depth.OVERRIDE):
        return Chosen(found, Source.VARIABLE)
    if own is not None:
        return Chosen(depth_named(own), Source.OWN)
    told = found in (Depth.TRUE, Depth.MANY) or environ.get("NO_COLOR") or environ.get("TERM") == "dumb"
    return Chosen(found, Source.KNOWN if told else Source.USUAL)


def chosen_shape(own: float | None, said: float | None, usual: float) -> Chosen[float]:
    """Height of a cell over its width: the player's, else what the terminal says, else the usual."""
    if own is not None:
        return Chosen(own, Source.OWN)
    return Chosen(usual, Source.USUAL) if said is None else Chosen(said, Source.KNOWN)
