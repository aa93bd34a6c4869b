"""What is worth cheering at a call: a cause healed, a level passed, a first kind seen true, five in a row."""

from trainer.drills.words import kind_name, small
from trainer.geometry.fullness import kind_of
from trainer.learner.call import Call
from trainer.learner.verdicts import IN_A_ROW, TRUE, kind_verdicts, verdict_on
from trainer.play.causes_in_words import HEALED
from trainer.play.player_model import Skill


class Cheers:
    """Looks after each call of a set whether there is anything to cheer."""

    def __init__(self, skill: Skill, *, passed: bool) -> None:
        self._passed, self._healed = passed, set(skill.looks.healed)
        self._any_true = any(row.verdict == TRUE for row in kind_verdicts(skill.belief, skill.tally))

    def after(self, told: Call, skill: Skill, *, passed: bool, run: int) -> str:
        """What to cheer, in a few words; '' where nothing is.

        Parameters
        ----------
        told : Call
            What the call told.
        skill : Skill
            What is known of the skill now.
        passed : bool
            Whether the level is passed now.
        run : int
            How many calls in a row were right.
        """
        if healed := skill.looks.healed.keys() - self._healed:
            self._healed |= healed
            return f"Healed: {small(HEALED[min(healed).split()[0]])}"
        if passed and not self._passed:
            self._passed = True
            return "Level passed"
        if not self._any_true and told.tells:
            kind = kind_of(told.sine)
            self._any_true = verdict_on(skill.belief, kind, skill.tally.kinds[kind]).verdict == TRUE
            if self._any_true:
                return f"Seen true: {kind_name(kind)}"
        if run and run % IN_A_ROW == 0:
            return f"{run} in a row" if run > IN_A_ROW else "Five in a row"
        return ""
