"""How fast the cue ball comes, by name, m/s."""

# Middles of the classes "slow" (0.45 to 0.89 m/s), "medium" (0.89 to 1.9) and "fast" (1.9 to 3.2):
# Alciatore, "Typical shot speeds", https://billiards.colostate.edu/faq/speed/typical/
SLOW, MEDIUM, FAST = 0.67, 1.4, 2.55
