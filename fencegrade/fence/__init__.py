"""The parts of the fence, a room each, and the rule of which board serves."""
