"""Words and sound events in, a draft lesson out."""
