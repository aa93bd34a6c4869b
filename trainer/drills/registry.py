"""Every drill by its name."""

from trainer.drills.aim import Aim
from trainer.drills.band import Band
from trainer.drills.drill import Drill
from trainer.drills.judge import Judge
from trainer.drills.slide import Slide
from trainer.drills.straight import Straight

DRILLS: dict[str, Drill] = {drill.name: drill for drill in (Band(), Aim(), Slide(), Judge(), Straight())}
