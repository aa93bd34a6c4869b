"""The names that levels and commands may use. Nothing is imported here: the commands' help needs them."""

DRILLS = ("band", "aim", "slide", "edge", "throw", "back", "cushion")
VIEWS = ("plan", "down", "standing")
