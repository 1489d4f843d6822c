"""An invented unit of 24 beds, to try everything on."""
