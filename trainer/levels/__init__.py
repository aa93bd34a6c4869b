"""Levels: the files of levels and tables, the path through them and its chapters."""
