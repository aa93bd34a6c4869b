"""``python -m trainer``: the same as the command ``trainer``."""

import sys

from trainer.cli import main

if __name__ == "__main__":
    sys.exit(main())
