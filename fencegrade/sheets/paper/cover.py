"""The first pages and the last: the job at a glance, before you dig, what to look at, what was assumed."""

from collections.abc import Iterator

from fencegrade.fence.tops.table import style_words
from fencegrade.planning.buying import buying_list
from fencegrade.planning.families import posts_to_set
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.problems import Severity
from fencegrade.sheets.cautions import CHECK_THREE, Work, work_cautions
from fencegrade.sheets.digging import BEFORE_DIGGING, is_checked
from fencegrade.sheets.facts import height_words, missing_words, run_facts
from fencegrade.sheets.paper.grid import Grid, draw_grid, flag_shape
from fencegrade.sheets.paper.page import BODY, LINE, SECOND, SMALL, Paper, text_width, wrapped
from fencegrade.sheets.screen.summary import buy_words
from fencegrade.sheets.sources import sources_used
from fencegrade.units import format_mass
from fencegrade.units.words import Words, plural

_CAUTION_SIZES = (11.5, 11.0, 10.5, 10.0)


def draw_cover(paper: Paper, plan: FencePlan) -> None:
    """The job at a glance."""
    words = Words.of(plan.job.job)
    paper.new_page(plan.job.job.title)
    names = ", ".join(run.run.name for run in plan.runs)
    paper.write(f"{style_words(plan.styles)} top; {plural(len(plan.runs), 'run')}: {names}", 12.0, after=6)
    if not is_checked(plan):
        paper.boxed(
            "Buried lines: NOT CHECKED YET. Do not dig until every line of “Before you dig” is ticked."
        )
    to_set = posts_to_set(plan.job, [run.posts for run in plan.runs])
    for run, own in zip(plan.runs, to_set, strict=True):
        paper.second_heading(run.run.name, 80)
        draw_facts(paper, list(_run_facts(plan, run, int(own.wanted.sum()), words)))
    paper.second_heading("To buy, in short", 80)
    _draw_buying(paper, plan, words)
    paper.y += 4
    paper.boxed(CHECK_THREE)


def draw_facts(paper: Paper, facts: list[tuple[str, str]], size: float = BODY) -> None:
    """Names on the left, what they are on the right."""
    column = max(text_width(name, size) for name, _ in facts) + 14
    for name, value in facts:
        lines = wrapped(value, paper.width - column, size, bold=True)
        paper.ensure(LINE * size * len(lines))
        paper.text(paper.left, paper.y + 0.95 * size, name, size)
        for line in lines:
            paper.text(paper.left + column, paper.y + 0.95 * size, line, size, bold=True)
            paper.y += LINE * size
        paper.y += 2


def _run_facts(plan: FencePlan, run: RunPlan, to_set: int, words: Words) -> Iterator[tuple[str, str]]:
    count = len(run.slots)
    posts = f"{plural(to_set, 'post')} to set, {plural(len(run.layout.bays), 'bay')}"
    yield "length", f"{words.station(run.end - run.start)}; {posts}"
    if not count:
        yield "pickets", "none stand here"
        return
    facts = run_facts(plan, run)
    short, long = facts.kept
    yield "pickets", str(count)
    yield (
        "shortest, longest",
        (f"{words.length(short)} (picket {facts.shortest}), {words.length(long)} (picket {facts.longest})"),
    )
    yield "above the ground", height_words(plan, facts, words)
    space = "only one picket" if facts.space is None else words.length(facts.space)
    yield "space between pickets", space
    yield "largest gap below", f"{words.length(facts.gap)} (picket {facts.open_widest})"


def _draw_buying(paper: Paper, plan: FencePlan, words: Words) -> None:
    bought = buying_list(plan)
    for line in bought.lines:
        paper.write(buy_words(line, words), BODY, after=1)
    for lacking in missing_words(plan, words):
        paper.write(f"NOT ENOUGH: {lacking}.", bold=True)
    if bought.cost is not None:
        without = f"; no price given for {'; '.join(bought.unpriced)}" if bought.unpriced else ""
        paper.write(f"Together {words.money(bought.cost)}{without}", BODY, bold=True, after=1)
    weight = format_mass(bought.weight, words.system, places=0)
    paper.write(f"{weight} to carry in all", BODY, bold=True)


def draw_before_digging(paper: Paper, plan: FencePlan) -> None:
    """The list that is ticked before a hole is dug, and the cautions of planning and digging."""
    done = is_checked(plan)
    paper.new_page("Before you dig")
    paper.boxed(
        "The job file says that this list is done." if done else "NOT CHECKED YET. Tick every line first."
    )
    for text in BEFORE_DIGGING:
        _draw_check(paper, text, done)
    if not done:
        paper.write(
            "When all is ticked, write dig_checked = true under [job] in the job file; the mark at the foot "
            "of every sheet then goes.",
            SMALL,
            after=6,
        )
    draw_cautions(paper, plan, Work.DIGGING, Work.PLANNING, Work.SITE)


def _draw_check(paper: Paper, text: str, done: bool) -> None:
    lines = wrapped(text, paper.width - 32, 14.0)
    high = max(LINE * 14.0 * len(lines), 20.0)
    paper.ensure(high + 8)
    paper.box(paper.left, paper.y, 18.0, done)
    for k, line in enumerate(lines):
        paper.text(paper.left + 30, paper.y + 14.0 * (0.95 + LINE * k), line, 14.0)
    paper.y += high + 7


def draw_cautions(paper: Paper, plan: FencePlan, *works: Work) -> None:
    """The cautions of some kinds of work, each whole, behind a bar; a little smaller if that keeps them
    together.
    """
    texts = [c.whole for c in work_cautions(plan, *works)]
    if not texts:
        return
    size = next(
        (s for s in _CAUTION_SIZES if _cautions_height(paper, texts, s) <= paper.room), _CAUTION_SIZES[0]
    )
    found = [wrapped(text, paper.width - 14, size) for text in texts]
    paper.second_heading("Take care", LINE * size * len(found[0]) + 8)
    for lines in found:
        high = LINE * size * len(lines)
        paper.ensure(high + 7)
        paper.line(paper.left + 2, paper.y, paper.left + 2, paper.y + high, width=2.4)
        for k, line in enumerate(lines):
            paper.text(paper.left + 12, paper.y + size * (0.95 + LINE * k), line, size)
        paper.y += high + 7


def _cautions_height(paper: Paper, texts: list[str], size: float) -> float:
    lines = [len(wrapped(text, paper.width - 14, size)) for text in texts]
    return LINE * SECOND + 12 + sum(LINE * size * count + 7 for count in lines)


def draw_look_at(paper: Paper, plan: FencePlan) -> None:
    """Every warning and note that came with the plan, the warnings first."""
    warnings = [p for p in plan.problems if p.severity is not Severity.NOTE]
    notes = [p for p in plan.problems if p.severity is Severity.NOTE]
    if not plan.problems:
        return
    paper.new_page("Look at these first")
    for problem in warnings:
        lines = wrapped(problem.place, paper.width - 22, BODY, bold=True)
        paper.ensure(LINE * BODY * (len(lines) + 2))
        paper.add(flag_shape(paper.left + 7, paper.y + 0.55 * BODY, 5.5, False))
        paper.write(problem.place, BODY, bold=True, after=0, indent=22)
        paper.write(problem.message, BODY, after=8, indent=22)
    if notes:
        paper.second_heading("Worth knowing")
    for problem in notes:
        paper.write(str(problem), 12.0, after=5)


def _assumed_grid(plan: FencePlan) -> Grid:
    """Keys and values that were assumed, two pairs a row."""
    pairs = [(a.key, a.value) for a in plan.job.assumed]
    half = (len(pairs) + 1) // 2
    rows = [(*a, *b) for a, b in zip(pairs[:half], [*pairs[half:], ("", "")], strict=False)]
    heads = ("key", "taken as", "key", "taken as")
    return Grid(heads=heads, rows=rows, right=(False,) * 4, bold=frozenset({1, 3}), size=10.5, row=16.0)


def draw_last(paper: Paper, plan: FencePlan) -> None:
    """What was assumed, and where figures come from."""
    paper.new_page("What was assumed, and sources")
    if plan.job.assumed:
        paper.write("The job file is silent here, so common practice was taken:", BODY)
        draw_grid(paper, _assumed_grid(plan))
    else:
        paper.write("Nothing: the job file names every value.", BODY)
    paper.second_heading("Sources of the figures used")
    for what, source in sources_used(plan):
        paper.write(f"{what}: {source}", 11.0, after=3)
    paper.second_heading("What these sheets are")
    paper.write(
        "Lengths and quantities computed from your own measurements. They are no design, no permit and no "
        "legal advice: local codes and licensed practice come first.",
        11.0,
    )
