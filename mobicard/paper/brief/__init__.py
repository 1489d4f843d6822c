"""The brief on paper and as text: the page, the picture from above, the sketch in characters."""
