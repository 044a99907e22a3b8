"""One line about a line moved by a few inches: what it spares."""

from collections.abc import Iterator

from fencegrade.job.choices import BottomCut, LowGround
from fencegrade.job.read import Job
from fencegrade.planning.higher_or_lower import LineMoved
from fencegrade.units.words import Words, plural

Counts = tuple[tuple[float, int], ...]


def counted_words(job: Job) -> str:
    """What the boards of the heights tables leave out that a plan counts."""
    return f"{_as_drawn(job).capitalize()}: the plan counts these too."


def judged_words(job: Job) -> str:
    """What the cost of boards is that a top is the best of its kind by."""
    sloping = (
        "; under a sloping line a scribed board may count a mark longer than it is"
        if job.pickets.bottom_cut is BottomCut.SCRIBED
        else ""
    )
    return f"What is best of its kind goes by boards as drawn: {_as_drawn(job)}{sloping}."


def _as_drawn(job: Job) -> str:
    fills = job.soil.low_ground is not LowGround.BOARDS
    soil = ", low ground closed by longer boards alone" if fills else ""
    return f"one picket a board, none of them from those on hand or longer in doubt{soil}"


OF_WHAT_LINE = (
    "Lines are moved from the best line of the run by itself, at heights on the tape; a corner may hold it "
    "higher. The lowest height is that of line and boards, over any ground of the run; in the plan it is "
    "that of the boards alone."
)
"""What the heights tables tell the heights of."""


def moved_words(moved: LineMoved, words: Words) -> str:
    """What the move spares: `2 in higher: no board need be cut, same price`."""
    way = "higher" if moved.by > 0 else f"lower (least {words.height(moved.least_height)})"
    return f"{words.length(abs(moved.by))} {way}: {', '.join([*_spared(moved, words), _price(moved, words)])}"


def _spared(moved: LineMoved, words: Words) -> Iterator[str]:
    before, after = moved.before, moved.after
    yield from _instead(before.boards, after.boards, "board", words)
    if after.cuts < before.cuts:
        fewer = before.cuts - after.cuts
        yield f"{plural(fewer, 'board')} fewer to cut" if after.cuts else "no board need be cut"
    elif after.cuts > before.cuts:
        yield f"{plural(after.cuts - before.cuts, 'board')} more to cut"
    yield from _instead(before.posts, after.posts, "post", words)
    yield from _instead(before.rails, after.rails, "rail board", words)


def _instead(before: Counts, after: Counts, what: str, words: Words) -> Iterator[str]:
    """Which lengths there are more of instead of others."""
    change = {length: 0 for length, _ in (*before, *after)}
    for sign, counts in ((-1, before), (1, after)):
        for length, n in counts:
            change[length] += sign * n
    more = [(length, n) for length, n in sorted(change.items()) if n > 0]
    fewer = [(length, -n) for length, n in sorted(change.items()) if n < 0]
    if more and fewer:
        (length, n), (other, m) = more[0], fewer[0]
        if len(more) == len(fewer) == 1 and n == m:
            yield f"{plural(n, what)} of {words.sold_length(length)} instead of {words.sold_length(other)}"
            return
        told = ", ".join(f"{n} of {words.sold_length(length)}" for length, n in more)
        given = ", ".join(f"{n} of {words.sold_length(length)}" for length, n in fewer)
        yield f"{what}s {told} instead of {given}"
    elif fewer:
        yield f"{plural(sum(n for _, n in fewer), what)} fewer"
    elif more:
        yield f"{plural(sum(n for _, n in more), what)} more"


def _price(moved: LineMoved, words: Words) -> str:
    was, now = moved.before.cost, moved.after.cost
    if was is None or now is None:
        saved = moved.before.timber - moved.after.timber
        return f"{words.height(saved)} of timber less" if saved > 0.5 else "nothing more to buy"
    return "same price" if abs(was - now) < 0.005 else f"{words.money(was - now)} less"
