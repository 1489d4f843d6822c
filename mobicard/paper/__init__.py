"""Pages: door cards, bedside cards, handoff and slip, as HTML and PDF that say the same."""
