"""Shots: what is on the table, what is true of it, how shots are drawn, and the levels that ask for them."""
