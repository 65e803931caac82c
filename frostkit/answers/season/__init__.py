"""Through the season: where crops stand, seed today or wait, frost tonight, the winter's plan, the field's book."""
