"""Asking before something is replaced."""

import sys


def confirmed(question: str, yes: bool) -> bool:
    """Whether the answer is yes; with ``yes`` nobody is asked, and no answer at all is a no."""
    if yes:
        return True
    print(f"{question} [y/N] ", end="", flush=True)
    line = sys.stdin.readline()
    if not line.endswith("\n"):
        print()
    return line.strip().lower() in ("y", "yes")
