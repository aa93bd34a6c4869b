"""``trainer glyphs``."""

import argparse

from trainer.commands.opening import own_glyphs
from trainer.pictures.terminal import OVERRIDE, samples


def glyphs(args: argparse.Namespace) -> int:
    """Show every set of glyphs, and say which one is used."""
    used = own_glyphs()
    print("Each shape should be whole and smooth, with no boxes, marks or gaps:\n")
    print("\n".join(samples()))
    print(f"\nPictures are drawn with {used}. If another set looks better here, put its name")
    print(f"into the variable {OVERRIDE}.")
    return 0
