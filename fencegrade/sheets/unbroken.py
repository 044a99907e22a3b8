"""Where a line of text may not end: between a figure and its unit, and within feet and inches."""

import re

_UNITS = r"mm|cm|m|in|ft|yd|lb|kg|g|gal|l|mph|km/h|m/s|psf|psi|kPa|Pa|kN|N|h|%"
_WITHIN = re.compile(rf"(?<=\d) (?=(?:{_UNITS})(?![\w/]))|(?<=\d') (?=\d)")


def unbroken(text: str) -> str:
    """The text with no-break spaces between figures and their units, for where lines are laid out."""
    return _WITHIN.sub("\N{NO-BREAK SPACE}", text)
