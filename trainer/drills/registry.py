"""Every drill by its name."""

from trainer import names
from trainer.drills.aim import Aim
from trainer.drills.back import Back
from trainer.drills.band import Band
from trainer.drills.cushion import Cushion
from trainer.drills.drill import Drill
from trainer.drills.edge import Edge
from trainer.drills.judge import Judge
from trainer.drills.leave import Leave
from trainer.drills.pick import Pick
from trainer.drills.same import Same
from trainer.drills.send import Send
from trainer.drills.slide import Slide
from trainer.drills.straight import Straight
from trainer.drills.throw import Throw

# In the order in which messages list them.
EVERY: tuple[Drill, ...] = (
    *(Band(), Aim(), Slide(), Judge(), Same(), Edge(), Throw()),
    *(Straight(), Back(), Leave(), Cushion(), Send(), Pick()),
)
# In the order of the commands' help.
DRILLS: dict[str, Drill] = {
    drill.name: drill for drill in sorted(EVERY, key=lambda drill: names.DRILLS.index(drill.name))
}
