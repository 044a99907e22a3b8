"""One file a command; options defined once; nothing computed."""
