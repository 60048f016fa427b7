"""The review desk: a local web app in which a person adds a recording, corrects its lesson and publishes it."""
