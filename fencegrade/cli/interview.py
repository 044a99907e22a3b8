"""Questions and readings at the terminal, for a first job without an editor."""

from collections.abc import Callable, Collection, Iterator
from pathlib import Path
from typing import Any

from fencegrade.cli.say import harmless, say
from fencegrade.ground.taking import Taken, disagrees, doubt_of_last
from fencegrade.job import interview
from fencegrade.job.defaults import bare_survey_stock
from fencegrade.units import UnitError, UnitSystem, format_money, parse_length, parse_money
from fencegrade.units.words import Words

Save = Callable[[str, list[tuple[float, float]], Collection[float]], list[Path]]
"""Writes the job file's text, the readings and which stations are at a break, whole or not at all; gives the
paths."""

NOT_MEASURED = "not measured"

LEAST_FOR_BREAKS = 3
"""Readings from which it is asked which were taken at a break; the ends never are."""


def ask(words: str, default: str = "") -> str:
    """One answer, the default where it is empty. Errors: EOFError at the end of the input."""
    shown = f" [{default}]" if default else ""
    return input(harmless(f"{words}{shown}: ")).strip() or default


def ask_units() -> UnitSystem:
    """Feet and inches, or metric."""
    while True:
        answer = ask("Units: imperial or metric", "imperial").lower()
        found = [s for s in UnitSystem if answer and str(s).startswith(answer)]
        if len(found) == 1:
            return found[0]
        say("  write imperial or metric")


def hold_interview(title: str, system: UnitSystem, save: Save) -> list[Path]:
    """Ask what a useful plan needs, then take readings one by one.

    `title`: the job's name unless another is given; `save`: called once the questions are answered, and again
    after every reading, so that nothing taken is lost. Result: the paths last written. Errors: EOFError or
    KeyboardInterrupt before the questions are through, with nothing written.
    """
    say("A few questions. Enter takes the answer in brackets; all of it can be changed later in job.toml.")
    say("Lengths carry their unit: " + _examples(system))
    say()
    answers: dict[tuple[str, str], Any] = {}
    _put(answers, ("job", "title"), "Name of the job", title, system)
    _ask_run(answers, system)
    for question in interview.questions(system):
        _put(answers, question.place, question.words, question.default, system)
    _ask_stock(answers, system)
    height = interview.height_question(answers, system)
    _put(answers, height.place, height.words, height.default, system)
    return _take_readings(answers, system, save)


def _examples(system: UnitSystem) -> str:
    return "6 ft, 5-1/2 in, 5' 3-1/2\"" if system is UnitSystem.IMPERIAL else "1.8 m, 95 mm"


def _put(
    answers: dict[tuple[str, str], Any], place: tuple[str, str], words: str, default: str, system: UnitSystem
) -> None:
    """Ask until the answer goes with the job so far."""
    while True:
        answer = ask(words, default)
        wrong = interview.faults({**answers, place: answer}, system) if answer else ()
        if not wrong:
            if answer:
                answers[place] = answer
            return
        for line in wrong:
            say(f"  {line}")


def _ask_run(answers: dict[tuple[str, str], Any], system: UnitSystem) -> None:
    _put_optional(answers, "end", "Length of the run", "as far as the readings go", system)
    while (level := ask("Is the string level: yes or no", "yes").lower()) not in ("yes", "y", "no", "n"):
        say("  write yes or no")
    if level not in ("yes", "y"):
        _put_string(
            answers, "fall", "How much lower is the string's far end (minus if it is higher)", "", system
        )
    _put_string(answers, "sag", "How far it sags in the middle of its span", NOT_MEASURED, system)


def _put_string(
    answers: dict[tuple[str, str], Any], key: str, words: str, none: str, system: UnitSystem
) -> None:
    """Ask for a key of the only string until the answer goes with the job so far."""
    known = answers.get(("run", "string"), [{}])[0]
    while (answer := ask(words, none)) != NOT_MEASURED:
        string = [{**known, key: answer}]
        wrong = interview.faults({**answers, ("run", "string"): string}, system)
        if not wrong:
            answers["run", "string"] = string
            return
        for line in wrong:
            say(f"  {line}")


def _put_optional(
    answers: dict[tuple[str, str], Any], key: str, words: str, none: str, system: UnitSystem
) -> None:
    """A key of the run that may stay silent; the run then starts at station 0."""
    while True:
        answer = ask(words, none)
        if answer == none:
            return
        given = {("run", "start"): "0 m" if system is UnitSystem.METRIC else "0 ft", ("run", key): answer}
        wrong = interview.faults({**answers, **given}, system)
        if not wrong:
            answers.update(given)
            return
        for line in wrong:
            say(f"  {line}")


def _ask_stock(answers: dict[tuple[str, str], Any], system: UnitSystem) -> None:
    """Stock lengths and their prices; none at all takes the usual lengths without prices."""
    usual = ", ".join(s["length"] for s in bare_survey_stock(system))
    say("Picket lengths you can buy, one by one; an empty line ends.")
    stock: list[dict[str, Any]] = []
    while length := ask(f"  length {len(stock) + 1}", "" if stock else usual):
        if length == usual:
            return
        price = ask("    price of one, or nothing") if not stock or "price" in stock[0] else ""
        try:
            one: dict[str, Any] = {"length": length} | ({"price": parse_money(price)} if price else {})
        except UnitError as error:
            say(f"    {error}")
            continue
        wrong = interview.faults({**answers, ("pickets", "stock"): [*stock, one]}, system)
        for line in wrong:
            say(f"    {line}")
        if not wrong:
            stock.append(one)
            sign = price.strip("0123456789., -")
            if sign:
                answers["job", "currency"] = sign
            shown = f" at {format_money(one['price'], '')}" if price else ""
            say(f"    {one['length']}{shown}")
    answers["pickets", "stock"] = stock


def _take_readings(answers: dict[tuple[str, str], Any], system: UnitSystem, save: Save) -> list[Path]:
    """Readings until an empty line, the end of the input or an interrupt; each is saved when it is taken."""
    along, down = ("ft", "in") if system is UnitSystem.IMPERIAL else ("m", "mm")
    taken: list[Taken] = []
    job = interview.answered_job(answers, system)
    written = save(job, [], ())
    say()
    say(f"Now the readings: how far along ({along}), then how far from the string down to the soil ({down}).")
    say("Each is saved as it is taken. An empty line ends; the rest can be added to the survey later.")
    try:
        for reading in _readings(taken, along, down, system):
            taken.append(reading)
            _look_again(taken, down, system)
            written = save(job, [(t.station, t.drop) for t in taken], ())
        if len(taken) >= LEAST_FOR_BREAKS:
            breaks = _ask_breaks(taken, along, system)
            written = save(job, [(t.station, t.drop) for t in taken], breaks)
    except (EOFError, KeyboardInterrupt):
        say()
        say(f"Stopped; readings saved: {len(taken)}.")
    _tell_missing(answers, taken, system)
    return written


def _ask_breaks(taken: list[Taken], along: str, system: UnitSystem) -> set[float]:
    """Stations of readings that were taken where the ground breaks."""
    words, breaks = Words.of_readings(system), set[float]()
    say("Stations of those taken at a crest, toe, ditch lip or paving edge, one by one; an empty line ends.")
    while text := ask(f"  break {len(breaks) + 1}"):
        try:
            station = parse_length(text, along)
        except UnitError as error:
            say(f"  {error}")
            continue
        near = [t.station for t in taken if abs(t.station - station) < words.mark]
        breaks |= set(near)
        if not near:
            say(f"  no reading was taken at {words.station(station)}")
    return breaks


def _tell_missing(answers: dict[tuple[str, str], Any], taken: list[Taken], system: UnitSystem) -> None:
    """Say how far the readings are from the end of the run, where its length was given."""
    if not taken or ("run", "end") not in answers:
        return
    words = Words.of_readings(system)
    end, last = parse_length(answers["run", "end"]), max(t.station for t in taken)
    if last < end:
        say(
            f"The readings end at {words.station(last)}, the run at {words.station(end)}: read on to its end."
        )


def _readings(taken: list[Taken], along: str, down: str, system: UnitSystem) -> Iterator[Taken]:
    """Each reading once both its numbers are sound; ends at an empty station."""
    words = Words.of_readings(system)
    while text := ask(f"station {len(taken) + 1}"):
        try:
            station = parse_length(text, along)
            drop = parse_length(ask("  drop"), down)
        except UnitError as error:
            say(f"  {error}")
            continue
        if drop < 0:
            say("  the drop is below zero: the ground would be above the string; raise the string")
            continue
        reading = Taken(station=station, drop=drop)
        say(f"  {words.station(station)} along, {words(drop)} down")
        other = disagrees(taken, reading, system)
        if other is None:
            yield reading
        elif _yes(f"  it was {words(other.drop)} before; take the new one instead"):
            taken.remove(other)
            yield reading


def _yes(words: str) -> bool:
    return ask(f"{words}: yes or no", "yes").lower() in ("yes", "y")


def _look_again(taken: list[Taken], down: str, system: UnitSystem) -> None:
    """Tell what is doubtful now, and let it be corrected."""
    words = Words.of_readings(system)
    doubt = doubt_of_last(taken, system)
    if doubt is None:
        return
    fits = f"; {words(doubt.would_fit)} would fit" if doubt.would_fit is not None else ""
    say(f"  ? {doubt.found}{fits}")
    doubted = taken[doubt.index]
    while text := ask(f"  look again: right drop at {words.station(doubted.station)}, or nothing to keep it"):
        try:
            drop = parse_length(text, down)
        except UnitError as error:
            say(f"  {error}")
            continue
        if drop >= 0:
            taken[doubt.index] = Taken(station=doubted.station, drop=drop)
            say(f"  {words.station(doubted.station)} along, {words(drop)} down")
            return
        say("  a drop is zero or more")
