"""Every drill by its name."""

from trainer.drills.aim import Aim
from trainer.drills.back import Back
from trainer.drills.band import Band
from trainer.drills.cushion import Cushion
from trainer.drills.drill import Drill
from trainer.drills.edge import Edge
from trainer.drills.slide import Slide
from trainer.drills.throw import Throw

DRILLS: dict[str, Drill] = {
    drill.name: drill for drill in (Band(), Aim(), Slide(), Edge(), Throw(), Back(), Cushion())
}
