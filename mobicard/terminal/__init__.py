"""Terminal: the nurse's, the clerk's and the reader's places, by keyboard. Start in app.py."""
