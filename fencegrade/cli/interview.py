"""Questions at the terminal: one after another, back at any time, and saved as they are answered."""

from collections.abc import Callable, Sequence
from typing import Any

from fencegrade.cli.say import harmless, say
from fencegrade.job import interview
from fencegrade.job.defaults import default_tables
from fencegrade.job.interview import NOTHING, Answers, Draft, Kind, Question
from fencegrade.job.prices import TypedPrice, holds_price, price_typed
from fencegrade.units import UnitError, UnitSystem, format_money, is_length, parse_length

Rows = list[dict[str, Any]]

Save = Callable[[Draft], None]
"""Writes the job as far as it is known, whole or not at all."""


class BackError(Exception):
    """The question before is to be asked again."""


class SkipError(Exception):
    """The usual answers are taken for all questions to come."""


def ask(words: str, default: str = "", more: str = "") -> str:
    """One answer, the default where it is empty; a question mark shows `more` and asks again.

    Errors: EOFError at the end of the input; BackError and SkipError for those words.
    """
    shown = f" [{default}]" if default else ""
    while True:
        text = input(harmless(f"{words}{shown}: ")).strip()
        if text == "?":
            say(f"  {more or 'Answer, or press Enter for what stands in brackets.'}")
            say("  back: the question before; skip: the usual answers for all the rest.")
        elif text.lower() == "back":
            raise BackError
        elif text.lower() == "skip":
            raise SkipError
        else:
            return text or default


def ask_length(words: str, default: str = "", more: str = "", *, or_else: Sequence[str] = ()) -> str:
    """A length with its unit, as it was typed, or one of the words that are taken instead, of which
    no and nothing say the last. A length of 0 needs no unit.
    """
    while (text := ask(words, default, more)) not in or_else or not text:
        if or_else and text.lower() in NOTHING:
            return or_else[-1]
        if text == "0":
            return "0 in"
        try:
            parse_length(text)
        except UnitError as error:
            say(f"  {error}")
        else:
            return text
    return text


def ask_yes(words: str, default: str = "yes", more: str = "") -> bool:
    """Yes or no, and nothing else."""
    while (answer := ask(f"{words}: yes or no", default, more).lower()) not in ("yes", "y", "no", "n"):
        say("  write yes or no")
    return answer in ("yes", "y")


def ask_units() -> UnitSystem:
    """Feet and inches, or metric."""
    while True:
        try:
            answer = ask("Units: imperial or metric", "imperial", "What lengths are printed in.").lower()
        except (BackError, SkipError):
            answer = "imperial"
        found = [s for s in UnitSystem if answer and str(s).startswith(answer)]
        if len(found) == 1:
            return found[0]
        say("  write imperial or metric")


def ask_questions(draft: Draft, open_ones: tuple[Question, ...], save: Save) -> Draft:
    """Ask questions in order, saving after each; back goes to the one before, skip leaves the rest.

    Result: the draft with what was answered. Errors: EOFError or KeyboardInterrupt, everything answered so
    far being saved.
    """
    say("Enter takes the answer in brackets. ? explains, back goes to the question before, skip takes the")
    say("usual answers for all the rest. Every answer is saved; all of it can be changed later in job.toml.")
    imperial = draft.system is UnitSystem.IMPERIAL
    say("Lengths carry their unit: " + ("6 ft, 5-1/2 in, 5' 3-1/2\"" if imperial else "1.8 m, 95 mm"))
    say()
    at = 0
    before: list[Draft] = []
    while at < len(open_ones):
        lines = [draft]

        def keep(begun: Draft, lines: list[Draft] = lines) -> None:
            lines.append(begun)
            save(begun)

        try:
            answered = ask_question(draft, open_ones[at], keep)
        except BackError:
            if before:
                at, draft = at - 1, before.pop()
            else:
                say("  this is the first question")
            continue
        except SkipError:
            return interview.skipped(lines[-1], open_ones[at:])
        before.append(draft)
        draft, at = answered, at + 1
        save(draft)
    return draft


def ask_question(draft: Draft, question: Question, keep: Save | None = None) -> Draft:
    """One question until its answer goes with the job so far; what stands is offered as the answer.

    What is out of all usual range is doubted, and confirmed or asked again. `keep`: takes a list of which
    some lines are answered, and such a list is gone on with; without it what stands is kept or replaced.
    """
    known = interview.doubts(draft)

    def sound(begun: Draft) -> None:
        if keep and all(found in known for found in interview.doubts(begun)):
            keep(begun.begun(question))

    while True:
        answered = _ASKERS[question.kind](draft, question, sound if keep else None)
        doubted, meant = _doubted(answered, known)
        if meant:
            return answered.confirming(doubted) if doubted else answered


def _doubted(new: Draft, known: Sequence[tuple[str, str]]) -> tuple[list[str], bool]:
    """The keys of doubts that are not `known` yet, each told, and whether all that they doubt is meant."""
    found = [one for one in interview.doubts(new) if one not in known]
    for _, told in found:
        say(f"  ? {told}")
    more = "No asks again; yes writes it under confirmed in job.toml."
    return [key for key, _ in found], not found or ask_yes("  is that meant", "no", more)


def _told(new: Draft, draft: Draft) -> bool:
    """Whether an answer brings a mistake into the draft; it is said."""
    known = interview.faults(draft)
    wrong = [line for line in interview.faults(new) if line not in known]
    for line in wrong:
        say(f"  {line}")
    return bool(wrong)


def _until_right(draft: Draft, q: Question, answers: Callable[[str], Answers]) -> Draft:
    """Ask until the answer goes with the job; the usual one leaves the key out of a silent question."""
    known, usual = draft.value(q.place), interview.usual_answer(draft, q)
    known = known.get("name") if isinstance(known, dict) else known
    while True:
        text = ask(q.words, known if isinstance(known, str) else usual, q.help)
        none = q.silent and (text == usual or text.lower() in NOTHING)
        try:
            new = draft.having(q, {} if none else answers(text))
        except UnitError as error:
            say(f"  {error}")
            continue
        if not _told(new, draft):
            return new


def _value(draft: Draft, q: Question, keep: Save | None) -> Draft:
    return _until_right(draft, q, lambda text: {q.place: _nothing_of(draft, q, text)})


def _nothing_of(draft: Draft, q: Question, text: str) -> str:
    """The answer, a bare 0 with a unit where a length is asked for: nothing needs none."""
    return text if text != "0" or not is_length(interview.usual_answer(draft, q)) else "0 in"


def _money(draft: Draft, q: Question, keep: Save | None) -> Draft:
    before = draft.having(q, {}).sign

    def answers(text: str) -> Answers:
        price = price_typed(text, before)
        return interview.priced(q, price.amount, price.sign)

    return _until_right(draft, q, answers)


def _string(draft: Draft, q: Question, keep: Save | None) -> Draft:
    begun = [s for s in draft.value(q.place) or [] if keep and s.get("id")]
    while True:
        count = ask(q.words, str(len(begun) + 1) if begun else q.default, q.help)
        if count.isdecimal() and 1 <= int(count) <= 9:
            break
        say("  write how many, such as 1")
    strings = [_one_string(draft, q)] if int(count) == 1 else _set_ups(draft, q, int(count), begun, keep)
    return draft.having(q, {q.place: strings} if strings != [{}] else {})


def _one_string(draft: Draft, q: Question) -> dict[str, Any]:
    if ask_yes("Is the string level", more="By a line level at both ends, or a water level."):
        return {}
    while True:
        fall = ask("How much lower is the string's far end (minus if it is higher)")
        if not _told(draft.having(q, {q.place: [{"fall": fall}]}), draft):
            return {"fall": fall}


def _set_ups(draft: Draft, q: Question, count: int, begun: Rows, keep: Save | None) -> Rows:
    """Where each set-up begins and ends, and how much it falls; the first one holds the height."""
    done = begun[:count]
    zero = "0 in" if draft.system is UnitSystem.IMPERIAL else "0 mm"
    for k in range(len(done), count):
        name = "ABCDEFGHI"[k]
        while True:
            one: dict[str, Any] = {"id": name} | ({"height": zero} if k == 0 else {})
            one["start"] = ask_length(f"  set-up {name} from station", more="Where its first end hangs.")
            one["end"] = ask_length("    to station", more="Where its far end hangs.")
            fall = "Of the string itself, not of the ground; minus if its far end is higher."
            one["fall"] = ask_length("    lower at its far end by", zero, fall)
            if not _told(draft.having(q, {q.place: [*done, one]}), draft):
                break
        done.append(one)
        _keep(keep, draft.having(q, {q.place: list(done)}))
    return done


def _sag(draft: Draft, q: Question, keep: Save | None) -> Draft:
    first, *others = draft.value(("run", "string")) or [{}]
    if others:
        return draft.having(q, {})
    return _until_right(
        draft, q, lambda text: {("run", "string"): [{**first, "sag": "0 in" if text == "0" else text}]}
    )


def _keep(keep: Save | None, begun: Draft) -> None:
    if keep:
        keep(begun)


def _stock(draft: Draft, q: Question, keep: Save | None) -> Draft:
    """Stock lengths, their prices and the boards on hand; none at all takes the usual lengths."""
    say(f"{q.words}, one by one; an empty line ends.")
    stock: Rows = interview.stock_begun(draft, q) if keep else []
    if stock:
        say(f"  so far: {', '.join(one['length'] for one in stock)}; to take one out type it again")
    sign = ""
    while text := ask(f"  length {len(stock) + 1}", "" if stock else q.default, q.help):
        if text == q.default:
            return draft.having(q, {})
        length, _, typed = (part.strip() for part in text.partition(":"))
        if len(rest := interview.without_length(stock, length)) < len(stock):
            sign = sign if holds_price(rest) else ""
            new = draft.having(q, interview.priced(q, rest, sign))
            if not _told(new, draft):
                stock = rest
                say(f"    taken out: {length}")
                _keep(keep, new)
            continue
        sold = [one for one in stock if "limit" not in one]
        whole = {"length": length} | ({"price": 1.0} if sold and "price" in sold[0] else {})
        if _told(draft.having(q, {q.place: [*stock, whole]}), draft):
            continue
        before = draft.having(q, interview.priced(q, stock, sign)).sign
        price = _price(typed, before, asked=not sold or "price" in sold[0])
        held = _held()
        one: dict[str, Any] = {"length": length} | ({"price": price.amount} if price else {})
        one |= {"on_hand": held} if held else {}
        one |= {"limit": 0} if held and not price and not _sold() else {}
        if "limit" in one and not sold:
            say("    first give a length that can be bought, then this one")
            continue
        new = draft.having(q, {q.place: [*stock, one]})
        if _told(new, draft):
            continue
        doubted, meant = _doubted(new, interview.doubts(draft))
        if not meant:
            stock = interview.without_doubted(new, stock, doubted)
            say(f"    kept: {', '.join(row['length'] for row in stock) or 'none'}; give the others again")
            continue
        draft = draft.confirming(doubted) if doubted else draft
        stock.append(one)
        sign = price.sign if price else sign
        shown = f" at {format_money(price.amount, '')}" if price else ""
        there = f", {held} there{', and no more to be bought' if 'limit' in one else ''}" if held else ""
        say(f"    {one['length']}{shown}{there}")
        _keep(keep, draft.having(q, interview.priced(q, list(stock), sign)))
    return draft.having(q, interview.priced(q, stock, sign))


def _price(typed: str, before: str, *, asked: bool) -> TypedPrice | None:
    """What one board costs, as `typed` after its length or asked for; None where it has no price. `before`:
    the sign of the prices before."""
    more = "Of one board of this length, as the yard sells it; nothing leaves it out of the bill."
    while text := typed or (ask("    price of one, or nothing", more=more) if asked else ""):
        typed = ""
        if text.lower() in NOTHING:
            break
        try:
            return price_typed(text, before)
        except UnitError as error:
            say(f"    {error}")
    return None


def _held() -> int:
    """How many boards of a length are there already."""
    more = "Boards you have: they are used first, and not bought."
    while not (held := ask("    how many are there already", "0", more)).isdecimal():
        say(f'    "{held}" is not a count; write a whole number, zero or more')
    return int(held)


def _sold() -> bool:
    """Whether more boards of a length can be bought."""
    return ask_yes("    can more of them be bought")


def _listed(
    draft: Draft, q: Question, having: Callable[[Rows], Draft], words: str, known: Rows, keep: Save | None
) -> Draft:
    """Stations one by one, of gates each with the clear width of its opening; `known`: those that stand."""
    rows: Rows = list(known) if keep else []
    if known:
        say(f"  so far: {', '.join(row['station'] for row in known)}")
    while True:
        usual = _DONE if rows else _KEEP if known else interview.NONE
        station = ask_length("  next" if rows else words, usual, q.help, or_else=(usual, interview.NONE))
        if station in (usual, interview.NONE):
            return having(known if station == _KEEP else rows)
        row: dict[str, Any] = {"station": station}
        if q.kind is Kind.GATES:
            row["width"] = ask_length("  clear width of the opening", _gate_width(draft))
            row |= _leaves(row["width"], draft.system)
        if not _told(having([*rows, row]), draft):
            rows.append(row)
            _keep(keep, having(list(rows)))


_DONE, _KEEP = "done", "keep them"
"""What an empty line says in a list: it is whole; what stands is kept."""


def _leaves(width: str, system: UnitSystem) -> dict[str, int]:
    """How many leaves close an opening that is wide for one."""
    from fencegrade.fence.gates.gates import MOST_LEAF

    if parse_length(width) <= MOST_LEAF[system]:
        return {}
    while (answer := ask("  leaves that close it, 1 or 2", "2", "One leaf so wide sags.")) not in ("1", "2"):
        say("  write 1 or 2")
    return {"leaves": int(answer)}


def _places(draft: Draft, q: Question, keep: Save | None) -> Draft:
    """Gates, or posts that stand."""

    def having(rows: Rows) -> Draft:
        return draft.having(q, {q.place: rows} if rows else {})

    return _listed(draft, q, having, q.words, draft.value(q.place) or [], keep)


def _gate_width(draft: Draft) -> str:
    return "4 ft" if draft.system is UnitSystem.IMPERIAL else "1.2 m"


def _run(draft: Draft, q: Question, keep: Save | None) -> Draft:
    """Another run: its name, and where there is one its length and its gates."""
    stands = draft.value(q.place) or {}
    while True:
        named = _until_right(draft, q, lambda text: {q.place: {**stands, "name": text}})
        run = named.value(q.place)
        if run is None:
            return named
        if run["name"].lower() not in ("yes", "y") or run["name"] == stands.get("name"):
            break
        say("  write its name, such as side 2, or none")
    _keep(keep, named)

    def with_run(more: dict[str, Any]) -> Draft:
        held = {k: v for k, v in {**run, **more}.items() if v}
        return draft.having(q, {q.place: held})

    far, help_words = "as far as its readings go", "From the middle of the corner's post to that of its last."
    while True:
        end = ask_length(f"  length of {run['name']}", run.get("end") or far, help_words, or_else=(far,))
        new = with_run({"end": None if end == far else end})
        if not _told(new, draft):
            break
    run = new.value(q.place)
    _keep(keep, new)
    opening = f"  gates in {run['name']}: how far along the first opening begins"
    gates = next(g for g in interview.questions(draft.system) if g.kind is Kind.GATES)
    return _listed(new, gates, lambda rows: with_run({"gate": rows}), opening, run.get("gate") or [], keep)


def _prices(draft: Draft, q: Question, keep: Save | None) -> Draft:
    """A price for each of the usual lengths that is sold, or for none."""
    known: Rows = draft.value(q.place) or []
    done, sign = [one for one in known if keep and "price" in one], ""
    have = {parse_length(one["length"]) for one in done}
    offered = known if known and not done else default_tables(draft.system)[q.table]["stock"]
    for one in [o for o in offered if parse_length(o["length"]) not in have]:
        stands = format_money(one["price"], "") if "price" in one else _UNSOLD if done else interview.NONE
        while (text := ask(f"{q.words} of {one['length']}", stands, q.help)) != _UNSOLD:
            if text.lower() in NOTHING:
                break
            try:
                price = price_typed(text, draft.having(q, interview.priced(q, done, sign)).sign)
            except UnitError as error:
                say(f"  {error}")
                continue
            row = {**one, "price": price.amount}
            new = draft.having(q, interview.priced(q, [*done, row], price.sign))
            if not _told(new, draft):
                done, sign = [*done, row], price.sign
                _keep(keep, new)
                break
        if not done:
            break
    return draft.having(q, interview.priced(q, done, sign))


_UNSOLD = "not sold"
"""What an empty line says of a later length."""


_ASKERS: dict[Kind, Callable[[Draft, Question, Save | None], Draft]] = {
    Kind.VALUE: _value,
    Kind.STRING: _string,
    Kind.SAG: _sag,
    Kind.STOCK: _stock,
    Kind.GATES: _places,
    Kind.POSTS: _places,
    Kind.RUN: _run,
    Kind.PRICES: _prices,
    Kind.MONEY: _money,
}
