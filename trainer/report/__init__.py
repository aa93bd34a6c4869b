"""Report: what the history says of a player, as data, text, pages and cards."""
