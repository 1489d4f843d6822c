"""What one who comes on shift must know of a bed: how grave, how many people, more or less, what is next."""
