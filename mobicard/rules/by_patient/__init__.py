"""Rules by what is true of the patient: alertness, behavior, precautions, lines, falls, what is unknown."""
