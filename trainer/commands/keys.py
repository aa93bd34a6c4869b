"""``trainer keys``."""

import argparse

from trainer.commands.opening import folder_of, settings_of
from trainer.settings.keys import listed
from trainer.settings.settings import FILE


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
