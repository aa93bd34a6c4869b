"""``trainer glyphs``."""

import argparse
import os

from trainer.commands.opening import own_glyphs, settings_of
from trainer.pictures.chosen import Source
from trainer.pictures.terminal import OVERRIDE, samples

SAID = {
    Source.VARIABLE: f"as the variable {OVERRIDE} says",
    Source.OWN: "as your settings say",
    Source.KNOWN: "which this terminal is known to draw",
    Source.USUAL: "which nearly every terminal draws",
}


def glyphs(args: argparse.Namespace) -> int:
    """Show every set of glyphs, and say which one is used."""
    settings, problems = settings_of(args)
    used = own_glyphs(os.environ, settings)
    print("Each shape should be whole and smooth, with no boxes, marks or gaps:\n")
    print("\n".join(samples()))
    print(f"\nPictures are drawn with {used.value}, {SAID[used.source]}. If another set looks better here,")
    print(f"choose it in the game (t at home), or put its name into the variable {OVERRIDE}.")
    for problem in problems:
        print(problem)
    return 0
