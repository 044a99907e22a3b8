"""From what somebody typed to exact numbers: spelling made plain, then whole, decimal and broken numbers."""

import math
import re
import unicodedata
from enum import StrEnum
from fractions import Fraction

LARGEST = 10**9
_LONGEST_TEXT = 120
_SPELLINGS = (
    ("'", "\u2032\u2019\u2018\u02b9\u02bc\u00b4`"),
    ('"', "\u2033\u201d\u201c\u201f\u02ba\u3003"),
    ("-", "\u2212\u2010\u2011\u2012\u2013\u2014\ufe63\uff0d"),
    ("/", "\u2044\u2215"),
    ("°", "\u00ba"),
    ("", "\u200b\u200c\u200d\u2060\ufeff"),
)
_PLAIN = str.maketrans({odd: plain for plain, group in _SPELLINGS for odd in group})
_POWERS = str.maketrans({"²": "2", "³": "3"})

_DECIMAL = r"(?:[0-9]+(?:[.,][0-9]+)*|\.[0-9]+)(?:e[+-]?[0-9]{1,3}(?![0-9]))?"
_FRACTION = r"[0-9]+ ?/ ?[0-9]+"
NUMBER = rf"(?:(?:[0-9]+(?: |-))?{_FRACTION}|{_DECIMAL})"
_MIXED = re.compile(r"(?:(?P<whole>[0-9]+)[ -])?(?P<top>[0-9]+) ?/ ?(?P<bottom>[0-9]+)")


class UnitSystem(StrEnum):
    """The units a job is printed in."""

    IMPERIAL = "imperial"
    METRIC = "metric"


class UnitError(ValueError):
    """A measurement that cannot be read, in two sentences: what was found, and how to write it."""

    def __init__(self, found: str, remedy: str) -> None:
        super().__init__(found, remedy)
        self.found = found
        self.remedy = remedy

    def __str__(self) -> str:
        return f"{self.found} {self.remedy}"

    @property
    def halves(self) -> tuple[str, str]:
        """What was found and what to do, as the two halves of one sentence."""
        remedy = self.remedy.removesuffix(".")
        return self.found.removesuffix("."), remedy[:1].lower() + remedy[1:]


def shown(text: str) -> str:
    """Return the text on one line and short enough for a message."""
    line = " ".join(str(text).split())
    return line if len(line) <= 40 else line[:37] + "..."


def plain_text(text: str) -> str:
    """Return the text in lower case, with plain quotes, hyphens, spaces, fractions and powers."""
    text = re.sub(r"(?<=[A-Za-z])[²³]", lambda power: power[0].translate(_POWERS), str(text))
    spelled = "".join(map(_spelled_fraction, " " + text, text + " ", (text + "  ")[1:]))[:-1]
    line = " ".join(spelled.translate(_PLAIN).lower().split())
    return line.replace("''", '"')


def _spelled_fraction(before: str, character: str, after: str) -> str:
    """Return one character, a fraction such as 3/4 spelled out and kept apart from its neighbours."""
    parts = unicodedata.normalize("NFKC", character).split("\u2044")
    if len(parts) != 2 or not all(part.isdigit() for part in parts):
        return character
    return (" " if before.isdigit() else "") + "/".join(parts) + (" " if after.isdigit() else "")


def signed_text(text: str, what: str, example: str) -> tuple[int, str]:
    """Return the sign (1 or -1) and the plain text after it.

    text: as typed; what: the kind of measurement, for messages; example: how to write one.
    Raises UnitError where nothing is there, or something that is no finite number.
    """
    plain = plain_text(text)
    if not plain:
        raise UnitError(f"The {what} is empty.", f"Write it as in {example}.")
    if len(plain) > _LONGEST_TEXT:
        raise unreadable(text, what, example)
    sign = -1 if plain[0] == "-" else 1
    body = plain[1:].lstrip() if plain[0] in "+-" else plain
    if body.startswith(("-", "+")):
        raise unreadable(text, what, example)
    if re.match(r"(nan|inf|infinity)\b", body):
        raise UnitError(f"{shown(text)} is not a finite number.", f"Write it as in {example}.")
    return sign, body


def unreadable(text: str, what: str, example: str) -> UnitError:
    """Return the error for text that has no reading at all."""
    article = "an" if what[0] in "aeiou" else "a"
    return UnitError(f"{shown(text)} cannot be read as {article} {what}.", f"Write it as in {example}.")


def number_value(token: str, text: str, *, price: bool = False) -> Fraction:
    """Return the exact value of one unsigned number: 63, 63.5, 63-1/2, 63 1/2, 1/2, 1,613.5 or 1,6.

    token: matches NUMBER; text: the whole entry, for messages; price: true where 1.250 too may
    mean thousands. A lone comma is a decimal comma, save before exactly three digits (1,613), where
    it may group thousands as well: that is refused. Raises UnitError.
    """
    mixed = _MIXED.fullmatch(token)
    return _mixed_value(mixed, text) if mixed else _decimal_value(token, text, price)


def _mixed_value(mixed: re.Match[str], text: str) -> Fraction:
    top, bottom = int(mixed["top"]), int(mixed["bottom"])
    if bottom == 0:
        raise UnitError(f"{shown(text)} divides by zero.", "Write a fraction such as 1/2 or 5/8.")
    if mixed["whole"] is None:
        return Fraction(top, bottom)
    if top >= bottom:
        raise UnitError(
            f"{shown(text)} has the fraction {top}/{bottom}, which is one or more.",
            "After a whole number write a fraction under one, such as 3/8.",
        )
    return int(mixed["whole"]) + Fraction(top, bottom)


def _decimal_value(token: str, text: str, price: bool) -> Fraction:
    digits, _, exponent = token.partition("e")
    marks = [character for character in digits if character in ".,"]
    if len(marks) == 1 and (price or marks == [","]) and _grouped(digits, marks[0]):
        raise _two_readings(digits, marks[0], text, price)
    if len(marks) > 1:
        whole, last = (digits, "") if len(set(marks)) == 1 else digits.rsplit(marks[-1], 1)
        digits = f"{_ungrouped(whole, marks[0], text)}.{last or 0}"
    return Fraction(digits.replace(",", ".")) * Fraction(10) ** int(exponent or 0)


def _two_readings(digits: str, mark: str, text: str, price: bool) -> UnitError:
    """The error for a mark that may part thousands or decimals; its remedy keeps the unit that was typed."""
    whole, decimals = digits.split(mark)
    found = f"{shown(text)} may mean {whole}{decimals} or {whole}.{decimals}."
    if price:
        return UnitError(found, f"Write two decimals, as in {whole}{decimals}.00 or {whole}.{decimals[:2]}.")
    many, few = (text.strip().replace(digits, number) for number in (whole + decimals, f"{whole}.{decimals}"))
    return UnitError(found, f"Write {few} where the comma is a decimal one, {many} where it parts thousands.")


def _grouped(digits: str, mark: str) -> bool:
    """Whether the mark stands where it could part thousands."""
    return re.fullmatch(rf"[1-9][0-9]{{0,2}}(?:{re.escape(mark)}[0-9]{{3}})+", digits) is not None


def _ungrouped(digits: str, mark: str, text: str) -> str:
    if not _grouped(digits, mark):
        raise UnitError(f"{shown(text)} has misplaced commas or points.", "Write the number as in 1613.5.")
    return digits.replace(mark, "")


def bounded(value: Fraction, text: str, largest: str) -> float:
    """Return the value as the nearest float, refused above LARGEST (the limit named in `largest`)."""
    if abs(value) > LARGEST:
        raise UnitError(f"{shown(text)} is larger than {largest}.", "Check the number and its unit.")
    return float(value) if value else 0.0


def finite(value: float, what: str) -> float:
    """Return the value, or raise ValueError where it is not finite."""
    if not math.isfinite(value):
        raise ValueError(f"the {what} must be a finite number, not {value}")
    return value
