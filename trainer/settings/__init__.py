"""Settings: the player's choices, keys, and the folders of the players on one machine."""
