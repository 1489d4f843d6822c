"""What other programs send while the unit runs, taken in message by message."""
