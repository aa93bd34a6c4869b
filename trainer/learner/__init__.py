"""The learner: a belief over a player's bias and noise, the choice of the next shot, and what it tells.

Its interface is three calls: ``choose`` a shot, ``update`` with a marked call, ``report``.
"""
