"""What is thought of a kind of shot, in words."""

from trainer.drills.words import ball_part
from trainer.learner.report import Kind


def kind_words(row: Kind) -> str:
    """``you see it 1/16 ball thick``, ``you see it true; settled``, ``not enough yet``."""
    said = {
        "thick": f"you see it {ball_part(row.bias)} thick",
        "thin": f"you see it {ball_part(row.bias)} thin",
        "true": "you see it true",
    }.get(row.verdict, row.verdict)
    return f"{said}; settled" if row.settled else said
