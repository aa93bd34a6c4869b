"""The names that levels and commands may use. Nothing is imported here: the commands' help needs them."""

DRILLS = (
    *("band", "aim", "slide", "judge", "same", "edge"),
    *("throw", "cushion", "leave", "send", "straight", "back", "pick"),
)
VIEWS = ("plan", "down", "standing")
