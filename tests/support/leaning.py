"""How `plumb` is asked, for all that ask it."""


def leaning(by: str, over: str = "4 ft", toward: str = "start") -> tuple[str, ...]:
    """Words of the command line: a board leans by so much over a height, to one side."""
    return ("--lean", by, "--over", over, "--toward", toward)
