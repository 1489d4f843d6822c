"""The move seen from above, as figures: where everything and everybody stands, which way each faces."""
