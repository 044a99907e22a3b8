"""Published figures as data, each with its source."""
