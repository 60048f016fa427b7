"""The follow-along film: the class with the practice time put in."""
