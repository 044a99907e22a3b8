"""Checks between the values of a job file: order, overlap, and wishes that contradict each other."""

import math
from collections.abc import Collection, Iterator, Sequence
from itertools import pairwise

from fencegrade.job.choices import RailJoint
from fencegrade.job.fields import LEAST_PRICE
from fencegrade.job.records import JobFile, Pickets, Posts, Soil, Stock, Top
from fencegrade.job.run_checks import check_runs
from fencegrade.job.site import Site
from fencegrade.problems import Problem, mistake
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words

FINEST_TAPE = 0.001
"""Inches; nobody cuts wood to less."""

MOST_WIDTH = 48.0
"""Inches; a wider picket or spacing is a slip of the unit."""

LEAST_WIDTH = 0.25
"""Inches; a narrower picket is a slip of the unit."""

MOST_ROWS = 40
"""Rows of rails one above another; more are a slip."""

LEAST_STOCK, MOST_STOCK = 1.0, 1_200.0
"""Inches; a shorter or a longer board is a slip of the unit."""


def check_job(
    file: JobFile, name: str, numbers: Sequence[int], broken: Collection[str] = ()
) -> Iterator[Problem]:
    """Every mistake that lies between two values of the job file called `name`.

    `numbers`: where each run stands in the file's list, counted from 0; `broken`: names of runs that have
    mistakes of their own and are left out of `file`.
    """
    words = Words(system=file.job.units, mark=max(file.job.tape, FINEST_TAPE))
    yield from _tape(file, name)
    yield from check_runs(file.run, numbers, name, broken, words)
    yield from _top(file.top, name, words)
    yield from _pickets(file.pickets, name, words)
    for table, stock in (("posts", file.posts.stock), ("rails", file.rails.stock)):
        yield from _stock(stock, name, table, words)
    if file.posts.gate_stock:
        yield from _stock(file.posts.gate_stock, name, "posts", words, "gate_stock")
    yield from _posts(file.posts, name, words)
    yield from _rails(file, name, words)
    yield from _post_tops(file, name, words)
    if file.site is not None:
        yield from _site(file.site, name)
    yield from _no_wood_left(file, name, numbers, words)
    yield from _soil(file.soil, name)
    yield from _kickboards(file, name, words)


def _tape(file: JobFile, name: str) -> Iterator[Problem]:
    if not FINEST_TAPE <= file.job.tape <= 1.0:
        yield mistake(
            f"{name} [job] tape",
            f"nobody cuts to a mark of {file.job.tape:g} in",
            "write the finest mark you cut to, such as 1/8 in or 1 mm",
        )


def _top(top: Top, name: str, words: Words) -> Iterator[Problem]:
    if top.most_height is not None and top.most_height < top.least_height:
        yield mistake(
            f"{name} [top] most_height",
            f"the most height {words.given(top.most_height)} is under the least height "
            f"{words.given(top.least_height)}",
            "raise the one or lower the other",
        )
    if top.most_slope is not None and top.most_slope < 0:
        yield mistake(
            f"{name} [top] most_slope",
            "the steepest slope is below nothing",
            "write how steep the top may be, up or down, such as 10 %",
        )


def _pickets(pickets: Pickets, name: str, words: Words) -> Iterator[Problem]:
    place = f"{name} [pickets]"
    if (wanted := pickets.clearance) > pickets.most_gap:
        found = (
            f"the largest gap {words.given(pickets.most_gap)} is under the clearance {words.given(wanted)}"
        )
        yield mistake(f"{place} most_gap", found, "allow at least the clearance as a gap")
    if (least := pickets.least_clearance or 0.0) > wanted:
        found = f"the least clearance {words.given(least)} is over the clearance {words.given(wanted)}"
        yield mistake(f"{place} least_clearance", found, "write no more than the clearance")
    yield from _stock(pickets.stock, name, "pickets", words)
    yield from _widths(pickets, place, words)


def _widths(pickets: Pickets, place: str, words: Words) -> Iterator[Problem]:
    for key, value in (("width", pickets.width), ("spacing", pickets.spacing)):
        if value > MOST_WIDTH:
            found = f"{words.fine(value)} is more than {words.fine(MOST_WIDTH)}"
            yield mistake(f"{place} {key}", found, "check the number and its unit")
    if pickets.width < LEAST_WIDTH:
        found = f"{words.given(pickets.width)} is too narrow for a board"
        yield mistake(f"{place} width", found, "check the number and its unit")


def _stock(
    stock: tuple[Stock, ...], name: str, table: str, words: Words, key: str = "stock"
) -> Iterator[Problem]:
    place = f"{name} [{table}]"
    if not stock:
        yield mistake(
            f"{place} {key}", "no stock length is offered", f"add [[{table}.{key}]] with its length"
        )
    elif not any(s.sold for s in stock):
        found = "no length of it can be bought: every one has a limit of 0"
        yield mistake(f"{place} {key}", found, "take the limit from one, or add a length that is sold")
    seen: dict[float, int] = {}
    for index, one in enumerate(stock):
        if one.length in seen:
            yield mistake(
                f"{place} {key} {index + 1}, length",
                f"{words.fine(one.length)} is offered twice",
                "keep one entry a length; what is there, or paid elsewhere at another price, is on_hand",
            )
        seen[one.length] = index
        yield from _board(one, f"{place} {key} {index + 1}", words)
    unpriced = [index for index, s in enumerate(stock) if s.sold and s.price is None]
    if unpriced and len(unpriced) < len([s for s in stock if s.sold]):
        missing = unpriced[0]
        yield mistake(
            f"{place} {key} {missing + 1}, price",
            f"{words.fine(stock[missing].length)} has no price but other lengths have one",
            "give every length a price, or none",
        )


def _board(one: Stock, place: str, words: Words) -> Iterator[Problem]:
    """What is wrong with one length of board by itself."""
    if one.limit:
        found = f"a job takes no other limit than 0, and {one.limit} is written"
        remedy = (
            f"write 0 where no more can be bought; where a yard has {one.limit}, buy those and write "
            "them as on_hand: that counts as paid, and no total holds its price"
        )
        yield mistake(f"{place}, limit", found, remedy)
    if one.length < LEAST_STOCK:
        found = f"a board of {words.given(one.length)} is shorter than {words.fine(LEAST_STOCK)}"
        yield mistake(f"{place}, length", found, "check the number and its unit")
    if one.length > MOST_STOCK:
        found = f"a board of {words.sold_length(one.length)} is longer than {words.sold_length(MOST_STOCK)}"
        yield mistake(f"{place}, length", found, "check the number and its unit")
    if one.price == 0:
        yield mistake(
            f"{place}, price",
            "a price of 0 would make every board free",
            "write what one costs, count boards that cost nothing as on_hand, or take every price out",
        )
    elif one.price is not None and one.price < LEAST_PRICE:
        found = f"a price of {one.price:g} is under {LEAST_PRICE}"
        yield mistake(f"{place}, price", found, "check the decimal point")


def _no_wood_left(file: JobFile, name: str, numbers: Sequence[int], words: Words) -> Iterator[Problem]:
    """Open heights that would swallow a picket where the fence is at its least height."""
    wanted = {f"{name} [pickets] clearance": file.pickets.clearance}
    for number, run in zip(numbers, file.run, strict=True):
        for key in ("clearance", "keep_open"):
            for i, stretch in enumerate(getattr(run, key)):
                wanted[f"{name} run {number + 1}, {key} {i + 1}, height"] = stretch.height
    for place, height in wanted.items():
        if height >= file.top.least_height:
            yield mistake(
                place,
                f"{words.given(height)} stays open under a fence of {words.given(file.top.least_height)}: "
                "no picket is left",
                "open less, or raise [top] least_height",
            )


def _posts(posts: Posts, name: str, words: Words) -> Iterator[Problem]:
    for gate, key, post in ((False, "hole_diameter", "a post"), (True, "gate_hole_diameter", "a gate post")):
        across = math.hypot(*posts.section(gate))
        alike = gate and (posts.hole(True), across) == (posts.hole(False), math.hypot(*posts.section(False)))
        if posts.hole(gate) < across and not alike:
            found = f"a hole of {words.fine(posts.hole(gate))} does not take {post} that is"
            yield mistake(
                f"{name} [posts] {key}",
                f"{found} {words.fine(across)} from corner to corner",
                "write a wider hole: three times the post's width is common practice with concrete",
            )
    if posts.gate_width is not None and not posts.gate_stock:
        yield mistake(
            f"{name} [posts] gate_width",
            "gate posts have a section of their own, but no lengths to buy them in",
            "add [[posts.gate_stock]] with a length",
        )
    if posts.spacing <= posts.width:
        yield mistake(
            f"{name} [posts] spacing",
            f"posts {words.fine(posts.width)} wide cannot stand {words.fine(posts.spacing)} apart, centre to "
            "centre",
            "check the unit; 6 ft to 8 ft is usual",
        )
    yield from _fixed_in_order(posts, name, words)


def _fixed_in_order(posts: Posts, name: str, words: Words) -> Iterator[Problem]:
    for k, (first, second) in enumerate(pairwise(posts.fixed), start=1):
        if second < first:
            yield mistake(
                f"{name} [posts] fixed {k + 1}",
                f"{words.station(second)} comes after {words.station(first)}",
                "list the stations in the order they stand, and check them for slips",
            )


def _rails(file: JobFile, name: str, words: Words) -> Iterator[Problem]:
    rails, width = file.rails, file.posts.width
    if rails.count is not None and rails.count > MOST_ROWS:
        found = f"{rails.count:,} rows of rails are more than {MOST_ROWS}"
        yield mistake(f"{name} [rails] count", found, "check the number")
    most = width / 2 if rails.joint is RailJoint.BUTTED else width
    if rails.bearing is not None and rails.bearing > most + SAME_LENGTH:
        yield mistake(
            f"{name} [rails] bearing",
            f"a {rails.joint} rail cannot cover {words.fine(rails.bearing)} of a post {words.fine(width)} "
            "wide",
            f"write {words.fine(most)} or less",
        )


def _post_tops(file: JobFile, name: str, words: Words) -> Iterator[Problem]:
    """Posts that end below the upper edge of the top rail, which then has nothing behind it."""
    below, reveal = -file.posts.height, file.rails.top_reveal
    if below > reveal + SAME_LENGTH:
        yield mistake(
            f"{name} [posts] height",
            f"post tops {words.fine(below)} below the tops leave the top rail without a post: its upper edge "
            f"is {words.fine(reveal)} below them ([rails] top_reveal)",
            f"write {words.fine(-reveal)} or nearer to 0, or a larger top_reveal",
        )


def _site(site: Site, name: str) -> Iterator[Problem]:
    if site.wind_speed is not None and site.wind_pressure is not None:
        yield mistake(
            f"{name} [site] wind_pressure", "wind is given as speed and as pressure", "keep one of the two"
        )
    if site.sets_depth and site.wind_speed is None and site.wind_pressure is None:
        yield mistake(
            f"{name} [site] sets_depth",
            "holes are to be as deep as the wind asks, but no wind is given",
            "add wind_speed or wind_pressure, or take sets_depth out",
        )


def _soil(soil: Soil, name: str) -> Iterator[Problem]:
    if soil.low_ground == "soil" and soil.most_depth == 0:
        yield mistake(
            f"{name} [soil] most_depth",
            "soil is chosen but may be no deeper than 0",
            'allow a depth, or write low_ground = "boards"',
        )
    if soil.crest == 0 and soil.side_slope == 0 and soil.low_ground in ("soil", "cheapest"):
        yield mistake(
            f"{name} [soil] crest",
            "a fill without a crest and without side slopes has no soil in it",
            "write how wide its level top is, such as 12 in or 300 mm",
        )


def _kickboards(file: JobFile, name: str, words: Words) -> Iterator[Problem]:
    soil = file.soil
    if not soil.kickboard:
        if soil.low_ground == "kickboard":
            yield mistake(
                f"{name} [soil] kickboard",
                "kickboards are chosen but no length is offered",
                'add [[soil.kickboard]] with its length, or write low_ground = "boards"',
            )
        return
    yield from _stock(soil.kickboard, name, "soil", words, "kickboard")
    priced, kickboards = (
        any(s.price is not None for s in stock if s.sold) for stock in (file.pickets.stock, soil.kickboard)
    )
    if soil.low_ground == "cheapest" and priced != kickboards:
        with_price, without = ("pickets", "kickboards") if priced else ("kickboards", "pickets")
        yield mistake(
            f"{name} [soil] kickboard",
            f"{with_price} have prices but {without} have none, so the cheapest cannot be told",
            "give both a price, or neither",
        )
