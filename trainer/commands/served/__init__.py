"""What ``trainer serve`` serves: the page, and behind it a game for each visitor."""
