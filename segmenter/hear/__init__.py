"""Media in, facts out: sound events and words with times. Knows nothing of therapy."""
