"""``trainer terminal`` and ``keys``: what this terminal can draw, who says so, how to get more; its keys."""

import argparse
import os
import shutil
import sys
from collections.abc import Iterator, Mapping

from trainer.commands.opening import folder_of, own_colours, own_glyphs, settings_of
from trainer.pictures import terminal as drawn_by
from trainer.pictures.asked import Answer, Shown, asked, pictures_in
from trainer.pictures.terminal import Chosen, Depth, Source, chosen_shape, depth_for, samples
from trainer.settings.keys import listed
from trainer.settings.settings import FILE, Settings

SAID = {
    Source.VARIABLE: f"as the variable {drawn_by.GLYPHS_VARIABLE} says",
    Source.OWN: "as your settings say",
    Source.KNOWN: "which this terminal is known to draw",
    Source.USUAL: "which nearly every terminal draws",
}
NAMES = {Depth.TRUE: "24-bit colour", Depth.MANY: "256 colours", Depth.FEW: "16 colours"}
TELLING = ("NO_COLOR", "COLORTERM", "WT_SESSION", "VTE_VERSION", "TERM")  # what tells of colours
SMALLEST = (80, 24)
RAMP = 64  # cells of it
LONGEST = 30  # characters of a variable that are shown


def terminal(args: argparse.Namespace) -> int:
    """Say what is known of this terminal, show what can be seen of it, and what to set for more."""
    settings, problems = settings_of(args)
    used, colours = own_glyphs(settings), own_colours(settings)
    with asked(os.environ) as question:
        answer = question.answer()
    told = [*_size(), *_colours(colours, os.environ), *_shape(settings), *_pictures(answer, settings)]
    print("\n".join([*told, *_mouse(os.environ)]))
    print("\nEach shape should be whole and smooth, with no boxes, marks or gaps:\n")
    print("\n".join(samples()))
    print(f"\nPictures are drawn with {used.value}, {SAID[used.source]}. If another set looks better here,")
    print(f"choose it in the game (t at home), or put its name into the variable {drawn_by.GLYPHS_VARIABLE}.")
    for problem in problems:
        print(problem)
    return 0


def _size() -> Iterator[str]:
    if not sys.stdout.isatty():
        yield "Size     not known: this isn't printed on a terminal"
        return
    columns, rows = shutil.get_terminal_size()
    enough = columns >= SMALLEST[0] and rows >= SMALLEST[1]
    more = (
        "a larger one shows larger balls" if enough else f"too small: make it {SMALLEST[0]} x {SMALLEST[1]}"
    )
    yield f"Size     {columns} columns, {rows} rows; {more}"


def _colours(colours: Chosen[Depth], environ: Mapping[str, str]) -> Iterator[str]:
    """How many, who says so, and a ramp that only 24-bit colour shows smooth."""
    who = {
        Source.VARIABLE: f"as the variable {drawn_by.COLOURS_VARIABLE} says",
        Source.OWN: "as your settings say",
    }.get(colours.source, why(environ))
    yield f"Colours  {NAMES.get(colours.value, 'no colours')}, {who}"
    if colours.value is Depth.TRUE:
        return
    if environ.get("NO_COLOR") and colours.source not in (Source.VARIABLE, Source.OWN):
        yield "         for more: unset NO_COLOR"
        return
    more = f'set COLORTERM=truecolor, or colours = "true" in {FILE}'
    if sys.stdout.isatty() and environ.get("TERM", "dumb") != "dumb":
        yield f"         {ramp()}"
        yield "         for more: where this is green that fades evenly to white, without steps,"
        yield f"         {more}"
    else:
        yield f"         for more: if the terminal shows 24-bit colour, {more}"


def why(environ: Mapping[str, str]) -> str:
    """Which variable tells how many colours the terminal has: the first without which it would be others."""
    found = depth_for(environ)
    for name in TELLING:
        rest = {key: value for key, value in environ.items() if key != name}
        if name in environ and depth_for(rest) is not found:
            value = environ[name][:LONGEST]
            return f"by {name}={value if value.isprintable() else repr(value)}"
    return "since nothing tells of more"


def ramp() -> str:
    """A row from green to white in 24-bit colour."""
    cells = []
    for i in range(RAMP):
        part = i / (RAMP - 1)
        red, green, blue = (round(a + part * (255 - a)) for a in (10, 92, 60))
        cells.append(f"\x1b[48;2;{red};{green};{blue}m ")
    return "".join(cells) + "\x1b[0m"


def _shape(settings: Settings) -> Iterator[str]:
    shape = chosen_shape(settings.cell_shape, drawn_by.asked_aspect())
    who = {Source.OWN: "as your settings say", Source.KNOWN: "as the terminal says"}
    said = who.get(shape.source, "as usual: the terminal doesn't say; t at home makes the balls round")
    yield f"Cells    {shape.value:.2f} times as high as wide, {said}"


def _pictures(answer: Answer, settings: Settings) -> Iterator[str]:
    """What pictures are shown in, and how that is known."""
    pictures = pictures_in(answer, os.environ, settings.pictures)
    yield f"Pictures {pictures.shown.value}: {pictures.why}"
    if pictures.shown is not Shown.CELLS:
        across, down = answer.cell or (0, 0)
        yield f'         a character is {across} x {down} of them; for cells: pictures = "cells" in {FILE}'


def _mouse(environ: Mapping[str, str]) -> Iterator[str]:
    """No terminal says whether it has one; what is in between may keep it back."""
    if environ.get("TERM") == "linux":
        yield "Mouse    none on the console; every action has a key (trainer keys)"
    elif environ.get("TMUX"):
        yield "Mouse    inside tmux only with: set -g mouse on"
    else:
        yield "Mouse    asked for when the game begins; where clicks do nothing, every action has a key"


def keys(args: argparse.Namespace) -> int:
    """List every action with its keys, as lines that the settings take."""
    settings, problems = settings_of(args)
    print(f"# Lines for {folder_of(args) / FILE}. Those with # are as usual:")
    print('# change the keys and take the # away. More than one stand apart by blanks, as "v tab".')
    print('# hand = "left", or "right", above all tables of the file gives a key set for that hand alone.\n')
    print(listed(settings.hand, settings.keys), end="")
    for problem in problems:
        print(f"# {problem}")
    return 0
