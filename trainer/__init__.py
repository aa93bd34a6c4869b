"""See the angle of a pot: a trainer for the terminal."""

__version__ = "0.1.0"
VERSION = f"trainer {__version__}"  # as --version says it
