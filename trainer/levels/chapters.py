"""The chapters of the path, and what each is for."""

# In the order of the path. A level's file names its chapter by the title; own levels may name any other.
CHAPTERS = {
    "Name what you see": "Say how full a shot is: full, three quarters, half or a quarter ball.",
    "The point to aim at": "Aim the cue ball's centre, and not the spot where the balls touch.",
    "To an eighth": "What looks like half ball is often five eighths: see what lies between.",
    "Beside the ball": "Thin cuts leave nothing on the ball to aim at: find the place beside it.",
    "One angle, many places": "Know an angle again wherever it lies, and where to come to for it.",
    "What the balls do": "Allow for throw, come off a cushion, know where the cue ball goes.",
    "To a hair": "Half a table's width away a pot forgives 1/32 of a ball: see that much.",
    "Other tables, longer shots": "Other balls and pockets, more cloth between them: the same angles.",
    "As in a frame": "Balls about, nothing drawn to help: see the shot as at the table.",
}
