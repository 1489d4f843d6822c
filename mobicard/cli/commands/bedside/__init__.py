"""What a nurse records at a bed, as commands: the same refusals as on the screen, and no screen needed."""
