"""What is said of a run at a glance, the same on the screen, on paper and on the page."""

import dataclasses
from collections.abc import Callable, Iterable, Iterator, Sequence

import numpy as np
from msgspec import Struct

from fencegrade.fence.low_ground.gaps import GapAction, GapStretch
from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.pickets.spacing import Spacing
from fencegrade.ground.survey import RunGround
from fencegrade.ground.survey_line import ZERO
from fencegrade.job.choices import HeightRule
from fencegrade.job.read import Job
from fencegrade.job.records import Stock
from fencegrade.planning.buying import PICKET_PARTS, bags_left, buying_list
from fencegrade.planning.families import Missing
from fencegrade.planning.hanging import pickets_over_line, spaces_to_set, where_bays_meet
from fencegrade.planning.picket_boards import boards_counted
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.planning.run import run_spaces
from fencegrade.units import layout_mark, past_limit
from fencegrade.units.arrays import Floats, first_most
from fencegrade.units.words import Words, listed, numbered, numbers, plural


def cost_words(cost: float, missing: Sequence[Missing], words: Words) -> str:
    """What all that is bought costs, and what it leaves out because no stock serves it."""
    if not missing:
        return words.money(cost)
    apart = listed([plural(m.count, m.part) for m in missing])
    return f"{words.money(cost)} WITHOUT {apart} that no stock serves"


def missing_words(plan: FencePlan, words: Words) -> Iterator[str]:
    """What no stock serves, a sentence a part: it is in no list of what to buy."""
    for lacking in plan.missing:
        holes = " (what fills their holes is)" if lacking.part.endswith("post") else ""
        yield (
            f"no stock serves {plural(lacking.count, lacking.part)}, not in this list{holes}: the longest "
            "needed is "
            f"{words.length(lacking.needed)}, the longest that can be bought "
            f"{words.sold_length(lacking.longest)}; {_used_up_words(lacking, words)}"
            f"add a longer length to {lacking.table} in the job file"
        )


def _used_up_words(lacking: Missing, words: Words) -> str:
    """That what was on hand of longer stock is taken, and how many more of it would do."""
    if not lacking.used_up:
        return ""
    spent = listed(f"{count} of {words.sold_length(length)}" for length, count in lacking.used_up)
    enough = [length for length, _ in lacking.used_up if length >= lacking.needed]
    is_ = "is" if sum(count for _, count in lacking.used_up) == 1 else "are"
    more = f": get {lacking.count} more of {words.sold_length(enough[0])}, or " if enough else "; "
    return f"{spent} on hand {is_} used up{more}"


def waiting_words(plan: FencePlan) -> str:
    """Why posts, and the boards with them, are not to be bought yet; empty where all posts are settled."""
    unserved = sum(m.count for m in plan.missing if m.table.startswith("[[posts."))
    why = []
    if plan.posts_failing and any(run.posts.new.any() for run in plan.runs):
        why.append(
            f"{plan.posts_failing} of {plan.posts_judged} posts do not pass the screen of wind and soil"
        )
    if unserved:
        why.append(f"no stock serves {plural(unserved, 'post')}")
    if not why:
        return ""
    return f"DO NOT BUY POSTS YET: {', '.join(why)}; a lower fence would change the boards too"


def begun_words(plan: FencePlan) -> str:
    """What a list of what to buy does not know of a job that was begun, or whose boards were counted; empty
    before that, and where it holds nothing but boards that are counted."""
    built, lines = plan.job.built, buying_list(plan).lines
    counted = built.left is not None
    unknown = [line for line in lines if line.to_buy and not (counted and line.part in PICKET_PARTS)]
    if not (built.begun or built.left) or not unknown:
        return ""
    ways = ["take off what is left"]
    if keys := dict.fromkeys(line.key_on_hand for line in unknown if line.key_on_hand):
        ways.append(
            f"or add all that was bought to {listed(keys)} in the job file, of which what stands has used "
            "its part"
        )
    if any(line.part in PICKET_PARTS for line in unknown):
        ways.append("or count pickets as [[left]] in built.toml")
    what = "All but pickets is" if counted else "All of it is"
    return f"{what} listed as it is still used, whatever was bought before: {', '.join(ways)}"


def used_words(plan: FencePlan) -> str:
    """How much of what was on hand what stands is taken to have used; empty where nothing stands, and where
    all lengths of pickets that were there are counted."""
    return ". ".join(filter(None, (_used_pickets(plan), _begun_boards(plan), _used_besides(plan))))


def _begun_boards(plan: FencePlan) -> str:
    """Boards that gave pickets which are up, and have others to give."""
    own = plan.families.pickets
    told = [
        f"{n} of {plan.words.sold_length(s.length)}" for s, n in zip(own.offered, own.begun, strict=True) if n
    ]
    if plan.first is not None and plan.first.parts_lost:
        return "Which boards were cut in part is not known, so what is left of them is not counted"
    if not told:
        return ""
    return (
        f"Boards begun, {listed(told)}, are counted with those on hand, for the pickets they still have to "
        "give; lists of boards name what they gave too"
    )


def _used_pickets(plan: FencePlan) -> str:
    """How many of the boards on hand the pickets that are up were cut from."""
    if all(run.layout.coming.all() for run in plan.runs):
        return ""
    sold, own = plan.words.sold_length, plan.families.pickets
    offered = [
        dataclasses.replace(s, on_hand=s.on_hand - n) for s, n in zip(own.offered, own.begun, strict=True)
    ]
    counted = boards_counted(plan.job, [s.length for s in offered])
    left = [s for s, n in zip(offered, counted, strict=True) if n is None]
    told = list(_used(plan.job.pickets.stock, left, lambda n: f"of {sold(n)}"))
    if not told:
        return ""
    return (
        f"Of the boards on hand in the job file {listed(told)} are taken as used by the pickets that are up; "
        "where the pile says otherwise, write what is left as [[left]] in built.toml"
    )


def _used_besides(plan: FencePlan) -> str:
    """How many posts, rails and bags on hand what stands took."""
    posts, rails, own, sold = plan.job.posts, plan.job.rails, plan.families, plan.words.sold_length
    told: list[str] = []
    if any(p.up.any() for p in plan.posts_to_set):
        told += _used(posts.stock, own.posts.offered, lambda n: f"posts of {sold(n)}")
        gates = own.gate_posts.offered if own.gate_posts is not None else ()
        told += _used(posts.gate_stock, gates, lambda n: f"gate posts of {sold(n)}")
        bags = (posts.bags_on_hand, posts.gravel_bags_on_hand)
        for held, left, what in zip(bags, bags_left(plan), ("concrete mix", "gravel"), strict=True):
            told += [f"{held - left or 'none'} of the {held} bags of {what}"] if held else []
    if not all(run.rails_coming.all() for run in plan.runs):
        told += _used(rails.stock, own.rails.offered, lambda n: f"rails of {sold(n)}")
    if not told:
        return ""
    return (
        f"Of what is on hand in the job file {listed(told)} are taken as used by what stands; where the pile "
        "says otherwise, write as on_hand what is left and these together"
    )


def _used(stock: Iterable[Stock], left: Iterable[Stock], name: Callable[[float], str]) -> Iterator[str]:
    """How many boards of each length that were there are used, by what is `left`."""
    there = {s.length: s.on_hand for s in stock}
    for s in left:
        if there[s.length]:
            yield f"{there[s.length] - s.on_hand or 'none'} of the {there[s.length]} {name(s.length)}"


def before_buying(plan: FencePlan) -> Iterator[str]:
    """What must be read before anything on a list of what to buy is bought; it stands over each such list."""
    yield from (f"CHECK FIRST, before anything is bought: {p.place}: {p.found}" for p in plan.job.notes)
    yield from (f"NOT ENOUGH: {lacking}" for lacking in missing_words(plan, plan.words))
    yield from filter(None, (waiting_words(plan), begun_words(plan), used_words(plan)))


def unpriced_words(plan: FencePlan) -> str:
    """What the cost of all that is bought leaves out, a sentence; empty where all or nothing has a price."""
    bought = buying_list(plan)
    if not bought.unpriced or bought.cost is None:
        return ""
    return f"No price given for {'; '.join(bought.unpriced)}."


def provisional_words(grounds: Iterable[RunGround]) -> Iterator[str]:
    """Why nothing should be bought, cut or dug yet, a line a run that is provisional: what looks like a slip
    and is neither read again nor confirmed.
    """
    for ground in grounds:
        if ground.provisional:
            places = ", ".join(p.place for p in ground.slips)
            yield f"{provisional_mark((ground,))} {UNTIL_READ} ({places})"


def provisional_mark(grounds: Iterable[RunGround]) -> str:
    """What stands over each drawing, page and table of runs of which some are provisional; empty for none."""
    names = [ground.name for ground in grounds if ground.provisional]
    return f"PROVISIONAL: buy, cut and dig nothing for {' and '.join(names)}" if names else ""


def marked_title(title: str, grounds: Iterable[RunGround]) -> str:
    """The title of a drawing of some runs, behind what stands over it while one of them is provisional."""
    mark = provisional_mark(grounds)
    return f"{mark}. {title}" if mark else title


def grounds_of(plan: FencePlan) -> list[RunGround]:
    """The ground of every run of a plan."""
    return [run.ground for run in plan.runs]


UNTIL_READ = "until what looks like a slip is read again or confirmed"
"""Until when a run is provisional."""


_MOST_SPACES = 4
"""Stretches of equal spaces that are told in one line."""


def up_words(runs: Sequence[RunPlan]) -> str:
    """How many of the pickets are up, to follow how many there are; empty for none."""
    coming = np.concatenate([run.layout.coming for run in runs])
    if coming.all():
        return ""
    return f", {int((~coming).sum())} of them up" if coming.any() else ", all up"


def left_out_words(run: RunPlan) -> str:
    """Which pickets a list of what is to come leaves out; empty where nothing is up."""
    up = np.flatnonzero(~run.layout.coming)
    if not len(up):
        return ""
    told = numbered("picket", up).capitalize()
    return f"{told} {'is' if len(up) == 1 else 'are'} up and left out here."


EVERY_UP = "every board is up"
"""What is said of boards to cut where none is to come."""


class RunFacts(Struct, frozen=True, kw_only=True):
    """The outstanding pickets of a run that has some.

    `shortest`, `longest`, `open_widest`: numbers of pickets, from 1; `kept` of the first two and the `gap`
    under the third, where its middle is at `station`; `least_height`: least height of a top over the highest
    ground under it, `most_height`: most over the lowest (all in inches); `over`: pickets past the local
    height limit; `under`: pickets to come, from 1, that stand under the height asked for.
    """

    shortest: int
    longest: int
    kept: tuple[float, float]
    open_widest: int
    gap: float
    station: float
    least_height: float
    most_height: float
    over: int
    under: tuple[int, ...]


def as_before(job: Job) -> Iterator[str]:
    """What tables of a fence that could still be chosen are worth where part of it stands."""
    if not job.built.begun:
        return
    yield "Part of the fence stands. What follows is of the whole fence, as it was before any of it stood."
    hung = [f"{run.name} its {run.style} one" for run in job.built.run if run.style is not None]
    if hung:
        yield (
            f"What stands keeps its top: {listed(hung)}. Another can be had for the rest alone, as a run of "
            "its own; a plan with that top says where it begins."
        )


def run_facts(plan: FencePlan, run: RunPlan) -> RunFacts:
    """The facts of one run of a plan."""
    cuts, slots = run.cuts, run.slots
    under = (cuts.height < plan.job.top.least_height - plan.mark / 2) & run.layout.coming
    low, high, worst = int(cuts.kept.argmin()), int(cuts.kept.argmax()), first_most(cuts.gap)
    return RunFacts(
        shortest=low + 1,
        longest=high + 1,
        kept=(float(cuts.kept[low]) * plan.mark, float(cuts.kept[high]) * plan.mark),
        open_widest=worst + 1,
        gap=float(cuts.gap[worst]),
        station=float(slots.centre[worst]),
        least_height=float(cuts.height.min()),
        most_height=float(cuts.tallest.max()),
        over=int(run.flags[PicketFlag.OVER_HEIGHT].sum()),
        under=tuple((np.flatnonzero(under) + 1).tolist()),
    )


def board_words(facts: RunFacts, words: Words) -> str:
    """The shortest and the longest kept length of a run, and where they stand; once where all are alike."""
    short, long = (words.length(x) for x in facts.kept)
    if short == long:
        return f"all {short}"
    return f"{short} (picket {facts.shortest}) to {long} (picket {facts.longest})"


def space_words(run: RunPlan, words: Words) -> str:
    """The spaces between pickets as laid, stretch by stretch, and where bays meet; those of the first row
    where there are two, which the second has as well.
    """
    spaces, meet = _laid_and_met(run)
    if not spaces:
        return "none"
    told: list[tuple[str, int, int]] = []
    for s in spaces:
        text = words.space(s.gap)
        if told and told[-1][0] == text:
            told[-1] = (text, told[-1][1], s.last)
        else:
            told.append((text, s.first, s.last))
    parts = [text if len(told) == 1 else f"{text} ({first}-{last})" for text, first, last in told]
    rest = len(parts) - _MOST_SPACES
    joined = ", ".join(parts[:_MOST_SPACES]) + (f" and {rest} more" if rest > 0 else "")
    return joined + _in_rows(run) + _meeting(meet, words)


def space_sizes(run: RunPlan, words: Words) -> str:
    """As `space_words`, each size once and without numbers of pickets."""
    spaces, meet = _laid_and_met(run)
    told = list(dict.fromkeys(words.space(s.gap) for s in spaces))
    if len(told) > _MOST_SPACES:
        told = list(dict.fromkeys(words.space(g) for g in sorted(s.gap for s in spaces)))
        told = [f"{told[0]} to {told[-1]}, {len(told)} sizes"]
    return (", ".join(told) or "none") + _in_rows(run) + _meeting(meet, words)


def _laid_and_met(run: RunPlan) -> tuple[list[Spacing], list[Spacing]]:
    """Stretches of the first row that are laid by a spacer, and the single spaces where bays meet."""
    spaces = [s for s in run_spaces(run) if s.row == 0]
    laid = [s for s in spaces if not where_bays_meet(run, s)]
    return (laid, [s for s in spaces if s not in laid]) if laid else (spaces, [])


def _in_rows(run: RunPlan) -> str:
    return " in each row" if run.layout.row.any() else ""


def _meeting(meet: Sequence[Spacing], words: Words) -> str:
    """The spaces left where the boards of two bays meet at a post or face, each bay being laid to its end:
    where they touch, and what else is left where that is the same at all of them.
    """
    shut = [s for s in meet if s.gap < layout_mark(words.system) / 2]
    rest = [s for s in meet if s not in shut]
    texts = {words.space(s.gap) for s in rest}
    parts = [f"boards touch {_met_at(shut, words)}"] if shut else []
    parts += [f"{texts.pop()} {_met_at(rest, words)}"] if len(texts) == 1 else []
    return f"; {', '.join(parts)}, where two bays meet" if parts else ""


def _met_at(meet: Sequence[Spacing], words: Words) -> str:
    if len(meet) > _MOST_SPACES:
        return f"at {len(meet)} posts"
    return f"at {', '.join(words.station((s.start + s.end) / 2) for s in meet)}"


def spacers(run: RunPlan, words: Words) -> list[str]:
    """The spacers that are still needed in a run as words, each once, the one used most first."""
    counted: dict[str, int] = {}
    for s in (s for s in spaces_to_set(run) if s.gap > layout_mark(words.system)):
        counted[words.space(s.gap)] = counted.get(words.space(s.gap), 0) + s.spaces
    return sorted(counted, key=lambda text: (-counted[text], text))


def tops_words(run: RunPlan, words: Words) -> str:
    """How far the pickets' tops, at their middles, stand over the line readings were taken from: `38-1/2 in
    over the string`.
    """
    over = pickets_over_line(run)
    over = over[np.isfinite(over)]
    if not len(over):
        return "no string hung along these pickets"
    name = ZERO if not run.ground.strings else "string"
    low, high = float(over.min()), float(over.max())
    ways = {under_or_over(x, words) for x in (low, high)}
    if ways == {"under"}:
        low, high = high, low
    first, last = (words.fine(abs(x)) for x in (low, high))
    if len(ways) == 2:
        first += " under"
    way = under_or_over(high, words)
    far = f"{first} {way} the {name}" if first == last else f"{first} to {last} {way} the {name}"
    simple = simply(run, words)
    return f"{far}; they come out {simple}" if simple else far


def simply(run: RunPlan, words: Words) -> str:
    """`level` or `in one straight line` where the tops of a run come out so to the tape and their style does
    not say it already; else nothing.
    """
    off, style = words.mark / 2, run.top.style
    if run.top.level_within(off):
        return "" if style.one_line and style.level_rails else "level"
    return "in one straight line" if not style.one_line and run.top.straight_within(off) else ""


def under_or_over(inches: float, words: Words) -> str:
    """`under` where a height over a line is below it by half a mark or more, else `over`."""
    return "under" if inches < -words.fine_mark / 2 else "over"


def from_to(low: float, high: float, words: Words) -> str:
    """Two heights over the ground (in) as words, once where they are the same."""
    least, most = words.height(low), words.height(high)
    return f"{least} throughout" if least == most else f"{least} to {most}"


def height_words(plan: FencePlan, facts: RunFacts, words: Words) -> str:
    """From what to what a run stands above the ground, and how that meets the local limit."""
    text = from_to(facts.least_height, facts.most_height, words)
    if facts.under:
        asked = words.given(plan.job.top.least_height, feet=True)
        text += f"; {plural(len(facts.under), 'picket')} under the {asked} asked: {numbers(facts.under)}"
    limit = plan.job.top.most_height
    if limit is None:
        return f"{text}; no limit given"
    if facts.over:
        return f"{text}; {plural(facts.over, 'picket')} over the limit of {words.given(limit, feet=True)}"
    return f"{text}; within the limit of {words.given(limit, feet=True)}"


def over_height(run: RunPlan, picket: int, words: Words) -> str:
    """The height a picket past the local limit counts with under the rule: its own, or the run's average."""
    check = run.height_check
    if check is None or check.rule is HeightRule.EVERY_POINT:
        tallest = float(run.cuts.tallest[picket])
        return past_limit(tallest, check.limit, words.height) if check else words.height(tallest)
    counted = past_limit(float(check.measured[picket]), check.limit, words.height)
    return f"{counted} on average" if check.rule is HeightRule.AVERAGE else counted


def limit_line(run: RunPlan, limit: float, ground: Floats, x: Floats) -> Floats:
    """Elevations (in) the local limit lets the top come to, over the `ground` (in) at stations `x` (in).

    Where the rule takes an average that is the top line moved up or down until it meets the limit.
    """
    check = run.height_check
    if check is None or check.rule is not HeightRule.AVERAGE:
        return ground + limit
    return np.asarray(run.top.at(x)) + limit - check.tallest


def open_below(run: RunPlan, picket: int, words: Words) -> str:
    """The gap under a picket, told as over the limit where more stays open than the job allows."""
    gap, most = float(run.cuts.gap[picket]), float(run.zones.most_gap[picket])
    return past_limit(gap, most, words.length) if run.flags[PicketFlag.GAP][picket] else words.length(gap)


def close_words(run: RunPlan, picket: int) -> str:
    """What closes the gap under a picket that leaves too much open: its cut, or a longer board where it
    stands already; or soil where that may lie."""
    bare = bool(run.flags[PicketFlag.NO_SOIL][picket])
    if run.flags[PicketFlag.STANDS][picket]:
        return "hang a longer one, no soil here" if bare else "fill, or hang a longer one"
    return "scribe, no soil here" if bare else str(PicketFlag.GAP)


def gap_action(run: RunPlan, gap: GapStretch) -> str:
    """What is done about a stretch of low ground, in words; where nothing is, what closes its gaps."""
    if gap.action is not GapAction.NONE:
        return str(gap.action)
    over = [i for i in range(gap.first - 1, gap.last) if run.flags[PicketFlag.GAP][i]]
    return "; ".join(dict.fromkeys(close_words(run, i) for i in over)) or str(PicketFlag.NO_STOCK)


def widest_of(run: RunPlan, words: Words) -> str:
    """The largest gap of a run that has pickets, as `open_below` tells it."""
    return open_below(run, int(run.cuts.gap.argmax()), words)


def widest_open(plan: FencePlan, words: Words) -> str:
    """The largest gap of a whole plan, as `open_below` tells it."""
    run = max((r for r in plan.runs if len(r.slots)), key=lambda r: float(r.cuts.gap.max()), default=None)
    return words.length(0.0) if run is None else widest_of(run, words)
