"""How likely a run of right calls comes by chance: why five in a row are a sign, but no proof."""


def chance_of_run(right: float, run: int, calls: int) -> float:
    """How likely ``run`` right calls in a row turn up somewhere in ``calls``, each ``right`` likely.

    Source: W. Feller, An Introduction to Probability Theory and Its Applications, vol. 1, XIII.7
    (success runs), by its recurrence.
    """
    at = [1.0] + [0.0] * (run - 1)  # chance of each run at the end, up to now
    reached = 0.0
    for _ in range(calls):
        reached += at[-1] * right
        at = [(1 - right) * sum(at), *(chance * right for chance in at[:-1])]
    return reached
