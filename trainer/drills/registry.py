"""Every drill by its name."""

from trainer.drills.aim import Aim
from trainer.drills.band import Band
from trainer.drills.drill import Drill
from trainer.drills.same import Same
from trainer.drills.slide import Slide

DRILLS: dict[str, Drill] = {drill.name: drill for drill in (Band(), Aim(), Slide(), Same())}
