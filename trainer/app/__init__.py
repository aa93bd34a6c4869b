"""The game on the screen: the only layer that knows Textual."""
