"""Simulated players at the real game. Nothing in the game imports this package."""
