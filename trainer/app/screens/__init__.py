"""The screens: home, play, summary, levels, progress, help."""
