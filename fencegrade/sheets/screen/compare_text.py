"""The comparison of tops: as a table, in words, and as JSON."""

from collections.abc import Iterator, Sequence
from typing import Any

from fencegrade.planning.compare import SAME_PRICE, ComparedStyle, Comparison, against_cheapest
from fencegrade.sheets.facts import as_before, cost_words, from_to, provisional_words, simply, widest_open
from fencegrade.sheets.height_words import judged_words, moved_words
from fencegrade.sheets.run_words import corner_lines
from fencegrade.sheets.screen.wrapping import wrapped
from fencegrade.sheets.tables import Cell, Table, columns_of
from fencegrade.units import format_slope
from fencegrade.units.tolerances import LEVEL, SAME_LENGTH
from fencegrade.units.words import Words, listed, plural

FORMAT = "fencegrade-comparison/1"


def comparison_table(found: Comparison) -> Table:
    """One row a top."""
    words = found.job.words
    columns = columns_of(
        "top | picket boards | cost:money | more than cheapest:money | pickets cut:count | cut off:length | "
        "worst gap:length | lowest:height | tallest:height | largest step:length | steepest rail | "
        "largest bend | posts | rails | breaks"
    )
    more = against_cheapest(found.styles, found.cheapest)
    rows = [_row(s, m, words, len(columns)) for s, m in zip(found.styles, more, strict=True)]
    return Table(name="comparison", columns=columns, rows=rows)


def _row(style: ComparedStyle, more: float | None, words: Words, columns: int) -> tuple[Cell, ...]:
    if style.plan is None:
        return (style.name, *([None] * (columns - 2)), style.reason)
    used, seen = style.used, style.seen
    priced = used.cost is not None
    return (
        style.name,
        _counts(used.boards, words),
        None if style.missing else used.cost,
        more if priced else None,
        used.cut,
        used.trimmed,
        seen.worst_gap,
        seen.shortest,
        seen.tallest,
        seen.largest_step or None,
        format_slope(seen.steepest, words.system) if seen.steepest > LEVEL else "level",
        format_slope(seen.largest_bend, words.system) if seen.largest_bend > LEVEL else "straight",
        _counts(used.posts, words),
        _counts(used.rails, words),
        ", ".join(style.broken) or None,
    )


def top_words(style: ComparedStyle, words: Words) -> str:
    """One line about a top, for its drawing, which shows one run: what is told of all of them says so."""
    broken = f"; breaks: {', '.join(style.broken)}" if style.broken else ""
    heights = from_to(style.seen.shortest, style.seen.tallest, words)
    whole = "all runs: " if style.plan is not None and len(style.plan.runs) > 1 else ""
    return f"{whole}{_counts(style.used.boards, words)}{_cost_words(style, words)}; {heights}{broken}"


def _cost_words(style: ComparedStyle, words: Words) -> str:
    """What all that is bought costs, or what it leaves out; empty without prices."""
    if style.used.cost is None:
        return ""
    cost = cost_words(style.used.cost, style.missing, words)
    return f"; {cost}" if style.missing else f"; all to buy {cost}"


def _counts(counts: tuple[tuple[float, int], ...], words: Words) -> str:
    return ", ".join(f"{n} x {words.sold_length(length)}" for length, n in counts) or "none"


def comparison_lines(found: Comparison) -> Iterator[str]:
    """The comparison on the screen: a few lines a top, then what each costs against the cheapest."""
    words = found.job.words
    yield f"{found.job.title}: tops side by side, each the best of its kind"
    yield from as_before(found.job)
    yield from provisional_words(found.grounds)
    least = [s.name for s in found.least]
    for style, more in zip(found.styles, against_cheapest(found.styles, found.cheapest), strict=True):
        yield ""
        yield from _style_lines(style, _against(style, more, least, words), words)
    yield ""
    yield from wrapped(judged_words(found.job))
    if found.unpriced and found.styles[0].used.cost is not None:
        yield f"Not priced, and counted for no top: {'; '.join(found.unpriced)}."
    yield _verdict(found, words)
    gates = any(s.plan is not None and s.plan.families.gate_pickets is not None for s in found.styles)
    told = ["boards for gates"] * gates + ["spares"] * (found.job.pickets.spare > 0)
    if told:
        frames = ", and rails of gate frames among the rails" if gates else ""
        yield f"The boards counted are those of the run; {listed(told)} are in the money{frames}."


def _style_lines(style: ComparedStyle, against: str, words: Words) -> Iterator[str]:
    if style.plan is None:
        yield f"{style.name}: cannot be built"
        yield f"  {style.reason}"
        return
    used, seen = style.used, style.seen
    yield f"{style.name}: pickets {_counts(used.boards, words)}{_cost_words(style, words)}{against}"
    yield f"  {from_to(seen.shortest, seen.tallest, words)} above the ground"
    simple = [(run.run.name, how) for run in style.plan.runs if (how := simply(run, words))]
    if simple and len(simple) == len(style.plan.runs) and len({how for _, how in simple}) == 1:
        yield f"  the tops come out {simple[0][1]}"
    elif simple:
        yield f"  the tops come out {', '.join(f'{how} ({name})' for name, how in simple)}"
    step = f"; largest step {words.length(seen.largest_step)}" if seen.largest_step > SAME_LENGTH else ""
    rail = f"; steepest rail {format_slope(seen.steepest, words.system)}" if seen.steepest > LEVEL else ""
    bend = format_slope(seen.largest_bend, words.system)
    bent = f"; largest bend {bend}" if bend != format_slope(0.0, words.system) else ""
    yield f"  {plural(used.cut, 'picket')} cut; worst gap {widest_open(style.plan, words)}{step}{rail}{bent}"
    yield f"  posts {_counts(used.posts, words)}; rails {_counts(used.rails, words)}"
    proofs = dict.fromkeys(str(r.choice.proof) for r in style.plan.runs)
    yield f"  best of its kind: {', '.join(proofs)}"
    if len(set(style.styles)) > 1:
        yield from (f"  {line}" for line in corner_lines(style.plan))
    if style.moved is not None:
        yield f"  {moved_words(style.moved, words)}"
    if style.plan.posts_failing:
        yield f"  {plural(style.plan.posts_failing, 'post')} not past the screen of wind and soil"
    if style.broken:
        yield f"  breaks: {', '.join(style.broken)}"


def _against(style: ComparedStyle, more: float | None, least: Sequence[str], words: Words) -> str:
    if style.name in least:
        others = [name for name in least if name != style.name]
        return f", the least, as {listed(others)}" if others else ", the least"
    if more is None or abs(more) < SAME_PRICE:
        return ""
    amount = (
        words.money(abs(more)) if style.used.cost is not None else f"{words.station(abs(more))} of boards"
    )
    return f", {amount} {'more' if more > 0 else 'less'} than the cheapest that keeps every wish"


def _verdict(found: Comparison, words: Words) -> str:
    best = found.cheapest
    if best is None:
        return "No top keeps every wish with the stock on offer; see what each breaks."
    what = (
        words.money(best.used.cost)
        if best.used.cost is not None
        else f"{words.station(best.used.timber)} of boards"
    )
    names = [s.name for s in found.least]
    cheapest = (
        f"The cheapest that keeps every wish is the {names[0]} top"
        if len(names) == 1
        else f"The cheapest that keep every wish are {listed(names)}, one as cheap as the other"
    )
    return f"{cheapest}, {what}. {_wind_words(best)} The eye decides the rest: look at the drawing."


def _wind_words(best: ComparedStyle) -> str:
    """Whether the posts of a top pass the screen of wind and soil, or that nobody asked."""
    if best.plan is None or best.plan.job.site is None:
        return "Wind on the posts is not compared: the job has no [site]."
    if fail := best.plan.posts_failing:
        return f"But {fail} of its {best.plan.posts_judged} posts do not pass the screen of wind and soil."
    if any(run.posts.standing.any() for run in best.plan.runs):
        return "Its new posts pass the screen of wind and soil; those that stand are not judged."
    return "Its posts pass the screen of wind and soil."


def comparison_json(found: Comparison) -> dict[str, Any]:
    """The comparison as plain values, lengths in the job's unit."""
    words = found.job.words
    more = against_cheapest(found.styles, found.cheapest)
    return {
        "format": FORMAT,
        "title": found.job.title,
        "length_unit": words.unit,
        "cheapest": found.cheapest.name if found.cheapest else None,
        "not_priced": list(found.unpriced),
        "provisional": list(provisional_words(found.grounds)),
        "tops": [_json_row(s, m, words) for s, m in zip(found.styles, more, strict=True)],
    }


def _json_row(style: ComparedStyle, more: float | None, words: Words) -> dict[str, Any]:
    number = words.number
    if style.plan is None:
        return {"top": style.name, "feasible": False, "reason": style.reason}
    used, seen = style.used, style.seen
    return {
        "top": style.name,
        "runs": [str(s) for s in style.styles],
        "feasible": not style.missing,
        "boards": [{"length": number(length), "count": n} for length, n in used.boards],
        "unserved": used.unserved,
        "missing": [m.as_dict(number) for m in style.missing],
        "cost": used.cost,
        "timber": number(used.timber),
        "more_than_cheapest": more and (round(more, 2) if used.cost is not None else number(more)),
        "cut": used.cut,
        "trimmed": number(used.trimmed),
        "worst_gap": number(seen.worst_gap),
        "lowest": number(seen.shortest),
        "tallest": number(seen.tallest),
        "largest_step": number(seen.largest_step),
        "steepest_rail": round(seen.steepest, 6),
        "largest_bend": round(seen.largest_bend, 6),
        "posts": [{"length": number(length), "count": n} for length, n in used.posts],
        "rails": [{"length": number(length), "count": n} for length, n in used.rails],
        "worth_moving": moved_words(style.moved, words) if style.moved else None,
        "breaks": list(style.broken),
        "proof": [str(r.choice.proof) for r in style.plan.runs],
    }
