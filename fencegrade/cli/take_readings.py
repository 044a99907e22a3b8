"""Readings at the terminal, one by one: doubted while looking again costs a minute, each saved."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from fencegrade.cli.interview import BackError, SkipError, ask, ask_yes
from fencegrade.cli.say import say
from fencegrade.ground.left_out import holes
from fencegrade.ground.taking import Taken, disagrees, doubt_of_last
from fencegrade.job.survey import Mark, StringReading, marks_of
from fencegrade.units import UnitError, UnitSystem, parse_length
from fencegrade.units.words import Words

Keep = Callable[[list[StringReading]], None]
"""Writes the readings of a run, whole or not at all."""

LEAST_FOR_BREAKS = 3
"""Readings from which it is asked which were taken at a break; the ends never are."""


class Reader:
    """Takes the readings of one run; `rows` are those there are."""

    def __init__(
        self,
        rows: Sequence[StringReading],
        system: UnitSystem,
        keep: Keep,
        *,
        end: str | None = None,
        strings: Mapping[str, tuple[float, float]] | None = None,
    ) -> None:
        self.rows, self.system, self.keep = list(rows), system, keep
        self.end, self.strings = end, dict(strings or {})
        self.words = Words.of_readings(system)
        self.along, self.down = ("ft", "in") if system is UnitSystem.IMPERIAL else ("m", "mm")

    def take(self) -> None:
        """Readings until an empty line. Errors: EOFError or KeyboardInterrupt, each reading being saved."""
        say(f"Now the readings: how far along ({self.along}), then how far down from the string")
        say(f"({self.down}). Each is saved as it is taken, in order of station. An empty line ends;")
        say("back takes the last one out.")
        while True:
            try:
                if not (text := ask(f"station {len(self.rows) + 1}", more="From the start of the run.")):
                    break
                self._take_one(text)
            except BackError:
                self._take_out()
            except SkipError:
                break
        if len(self.rows) >= LEAST_FOR_BREAKS:
            self._ask_breaks()
        self._tell_missing()

    def _take_out(self) -> None:
        if self.rows:
            gone = self.rows.pop()
            self.keep(self.rows)
            say(f"  taken out: {self._said(gone.station, gone.drop)}")
        else:
            say("  there is no reading yet")

    def _said(self, station: float, drop: float) -> str:
        return f"{self.words.station(station)}, {self.words.fine(drop)} down"

    def _take_one(self, text: str) -> None:
        try:
            station = parse_length(text, self.along)
            typed = ask("  drop", more="Plumb from the string down to the soil.")
            drop = parse_length(typed, self.down)
        except UnitError as error:
            say(f"  {error}")
            return
        except BackError:
            return
        if drop < 0:
            say("  the drop is below zero: the ground would be above the string; raise the string")
            return
        told = (self._echo(text, self.words.station(station)), self._echo(typed, self.words.fine(drop)))
        before = list(self.rows)
        try:
            self._judge(station, drop, told)
        except BackError:
            self.rows = before
            say(f"  not taken: {self._said(station, drop)}")
        except SkipError:
            if self.rows == before:
                say(f"  not taken: {self._said(station, drop)}")
            raise
        finally:
            if self.rows != before:
                self.keep(self.rows)

    def _judge(self, station: float, drop: float, told: tuple[str, str]) -> None:
        """Take a reading in once it is beyond doubt; `told`: its numbers as typed and read.

        Errors: BackError and SkipError from its questions.
        """
        string = self._string(station)
        say(f"  {told[0]} along, {told[1]} down")
        reading = StringReading(line=0, station=station, drop=drop, string=string)
        if not self._past_end(station) and self._repeat(reading):
            self.rows.append(reading)
            self._look_again(reading)

    def _string(self, station: float) -> str | None:
        """Which set-up it was read under, where there are several."""
        if not self.strings:
            return None
        reach = [name for name, (a, b) in self.strings.items() if a <= station <= b]
        read = [r.string for r in self.rows if r.station == station]
        usual = next((name for name in reach if name not in read), (reach or list(self.strings))[0])
        while True:
            if (name := ask("  string", usual).upper()) not in self.strings:
                say(f"  write one of {', '.join(self.strings)}")
            elif name in reach or ask_yes(f"  {self._hangs(name)}, which is not there; keep it", "no"):
                return name

    def _hangs(self, name: str) -> str:
        """Where a set-up hangs, in words."""
        start, end = self.strings[name]
        ends = [f"from {self.words.station(start)}"] if math.isfinite(start) else []
        ends += [f"to {self.words.station(end)}"] if math.isfinite(end) else []
        return f"string {name} hangs {' '.join(ends)}"

    def _echo(self, typed: str, shown: str) -> str:
        """What was typed, with what it comes to where it carried a unit of its own."""
        own_unit = any(c.isalpha() or c in "'\"" for c in typed)
        return f"{typed} = {shown}" if own_unit and typed != shown else shown

    def _past_end(self, station: float) -> bool:
        if self.end is None or station <= parse_length(self.end):
            return False
        end = self.words.station(parse_length(self.end))
        return not ask_yes(f"  that is past the end of the run, {end}; keep it", "no")

    def _own(self, string: str | None) -> list[Taken]:
        return [Taken(station=r.station, drop=r.drop) for r in self.rows if r.string == string and not r.side]

    def _repeat(self, reading: StringReading) -> bool:
        """Whether a reading stands beside those at its station; one that is taken instead goes out."""
        taken = Taken(station=reading.station, drop=reading.drop)
        other = disagrees(self._own(reading.string), taken, self.system)
        same = [r for r in self.rows if r.station == reading.station and r.string == reading.string]
        if other is not None:
            if not ask_yes(f"  it was {self.words.fine(other.drop)} before; take the new one instead"):
                return False
            self.rows = [r for r in self.rows if r not in same or r.drop != other.drop]
            return True
        if not same:
            return True
        return ask_yes(
            f"  a reading of {self.words.fine(same[-1].drop)} is there already; keep both",
            more="Repeats are averaged, and tell how sure a reading is.",
        )

    def _look_again(self, reading: StringReading) -> None:
        """Tell what is doubtful now, and let it be corrected."""
        own = self._own(reading.string)
        doubt = doubt_of_last(own, self.system)
        if doubt is None:
            return
        doubted = own[doubt.index]
        at = self.words.station(doubted.station)
        fits = "" if doubt.would_fit is None else f"; {self.words.fine(doubt.would_fit)} would fit at {at}"
        say(f"  ? {doubt.found}{fits}")
        while text := ask(f"  look again: right drop at {at}, or nothing to keep it"):
            try:
                drop = parse_length(text, self.down)
            except UnitError as error:
                say(f"  {error}")
                continue
            if drop >= 0:
                self._correct(doubted, drop)
                say(f"  {at} along, {self._echo(text, self.words.fine(drop))} down")
                return
            say("  a drop is zero or more")

    def _correct(self, doubted: Taken, drop: float) -> None:
        for k, row in enumerate(self.rows):
            if (row.station, row.drop) == (doubted.station, doubted.drop):
                self.rows[k] = replace(row, drop=drop)

    def _ask_breaks(self) -> None:
        """Which readings were taken where the ground breaks."""
        say("Stations of those taken at a crest, toe, ditch lip or paving edge; an empty line ends.")
        count = 1
        while True:
            try:
                if not (text := ask(f"  break {count}")):
                    return
                station = parse_length(text, self.along)
            except (BackError, SkipError):
                return
            except UnitError as error:
                say(f"  {error}")
                continue
            near = [k for k, r in enumerate(self.rows) if abs(r.station - station) < self.words.mark]
            for k in near:
                if Mark.BREAK not in marks_of(note := self.rows[k].note):
                    self.rows[k] = replace(self.rows[k], note=f"{Mark.BREAK}, {note}".rstrip(", "))
            if near:
                count += 1
                self.keep(self.rows)
            else:
                say(f"  no reading was taken at {self.words.station(station)}")

    def _tell_missing(self) -> None:
        """Say where a stake seems left out, and how far the readings are from the end of the run."""
        breaks = [r.station for r in self.rows if Mark.BREAK in marks_of(r.note)]
        for hole in holes([r.station for r in self.rows], breaks)[:1]:
            here, there = self.words.station(hole.start), self.words.station(hole.end)
            say(f"No reading between {here} and {there}: was a stake left out? Read it too.")
        if not self.rows or self.end is None:
            return
        end, last = parse_length(self.end), max(r.station for r in self.rows)
        if last < end:
            here, there = self.words.station(last), self.words.station(end)
            say(f"The readings end at {here}, the run at {there}: read on to its end.")
