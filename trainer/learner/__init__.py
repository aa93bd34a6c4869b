"""The learner: the posterior of a player's bias and noise, the choice of the next shot, and verdicts."""
