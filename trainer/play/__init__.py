"""The game without a screen: sets of shots, one question at a time, for the app and for scripts alike.

One way, no way back: level, batch of shots, choice, question, call, mark, record on disk, belief.
"""
