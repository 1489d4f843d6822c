"""house: every unit's hands and lifts beside each other, for who looks after lifts and pools; read only."""
