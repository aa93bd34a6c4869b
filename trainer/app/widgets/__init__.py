"""Widgets of our own: pictures, the row of answers, the run of right calls."""
