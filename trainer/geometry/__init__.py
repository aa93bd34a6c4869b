"""The truth of a pot: pure functions on numpy arrays that broadcast over any number of shots.

Units are millimetres and radians. Points and directions are arrays ``(..., 2)``: ``x`` runs up the
table along its length from the baulk end, ``y`` across to the left of a player who stands at baulk.
A positive turn, cut or offset sends the object ball to the player's left.
"""
