"""Posts as they were set: which of the record are those of the plan, and what there is to say of them."""

from collections.abc import Iterator, Sequence

from fencegrade.fence.bays.bays import Bays
from fencegrade.fence.bays.given_posts import PostKind, Reason, keep_outs
from fencegrade.fence.stock_steps import for_sale
from fencegrade.job.as_built import PostSet
from fencegrade.job.read import Job
from fencegrade.planning.layout import RunLayout
from fencegrade.problems import Problem, mistake, note, warning
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words

POST_TOLERANCE = 0.5
"""Inches a post may stand from its plan before it is told, and with another before their bay is told to pass
the spacing of the job. Common practice, no source."""

FAR_SHARE = 0.125
"""Share of the spacing from which a post stands so far off its plan that a slip is asked for (own choice)."""

READ_PAST = 1 / 16
"""Inches past the readings from which a post is told to stand there (own choice)."""


def sound_posts(
    job: Job, layout: RunLayout, posts: Sequence[PostSet]
) -> tuple[tuple[PostSet, ...], list[Problem]]:
    """The posts of a record that are the plan's, near where it has them, and the mistakes of the others.

    `layout`: as planned; `posts`: of its run.
    """
    words = Words.of_readings(job.units)
    found = {id(post): list(_slips(job, layout, post, words)) for post in posts}
    sound = tuple(post for post in posts if not found[id(post)])
    return sound, [problem for slips in found.values() for problem in slips]


def _slips(job: Job, layout: RunLayout, post: PostSet, words: Words) -> Iterator[Problem]:
    """What makes a post none of the plan's."""
    planned = layout.bays.posts
    if post.number > len(planned):
        found = f"the plan has no post {post.number} in {layout.run.name}, only {len(planned)}"
        yield mistake(f"{post.place}, number", found, "check the number")
        return
    off = abs(post.station - float(planned[post.number - 1]))
    profile, beyond = layout.ground.profile, job.posts.width
    if off > job.posts.spacing / 2:
        found = f"post {post.number} is {words.fine(off)} from its plan"
        yield mistake(f"{post.place}, station", found, "check number and station")
    elif not profile.start - beyond <= post.station <= profile.end + beyond:
        found = f"{words.station(post.station)} lies outside the readings"
        yield mistake(f"{post.place}, station", found, "take a reading there and add it to the survey")


def post_findings(job: Job, layout: RunLayout, posts: Sequence[PostSet], bays: Bays) -> Iterator[Problem]:
    """What a builder must see of posts as they were set.

    `layout`: as planned; `posts`: the sound ones of its run; `bays`: between the posts as set.
    """
    words = Words.of_readings(job.units)
    for post in posts:
        yield from _off_plan(job, layout, post, words)
        yield from _kept_out(job, layout, post, words)
        yield from _too_tall(job, layout, post, words)
    yield from _bays_too_wide(job, layout, bays, words)


def _off_plan(job: Job, layout: RunLayout, post: PostSet, words: Words) -> Iterator[Problem]:
    place = f"{layout.run.name}, post {post.number}"
    off = post.station - float(layout.bays.posts[post.number - 1])
    if abs(off) > POST_TOLERANCE + SAME_LENGTH:
        found = f"stands {words.fine(abs(off))} from its plan, toward the {'end' if off > 0 else 'start'}"
        remedy = "rails and boards to come are planned from it"
        if abs(off) > FAR_SHARE * job.posts.spacing + SAME_LENGTH:
            yield warning(place, found, f"check its number, its run and its station; {remedy}")
        else:
            yield note(place, found, remedy)
    profile = layout.ground.profile
    for past, reading, board in (
        (profile.start - post.station, "before the first reading, where the boards begin", "first"),
        (post.station - profile.end, "past the last reading, where the boards end", "last"),
    ):
        if past > READ_PAST:
            found = f"post {post.number} stands {words.fine(past)} {reading}"
            remedy = f"set the {board} board to the post; the ground there was not measured"
            yield note(layout.run.name, found, remedy)


def _kept_out(job: Job, layout: RunLayout, post: PostSet, words: Words) -> Iterator[Problem]:
    """A post set where the job has none stand."""
    if layout.bays.old[post.number - 1]:
        return
    half = job.posts.width / 2
    for out in keep_outs(layout.run, job.posts.hole_diameter):
        if out.reason is not Reason.OLD_HOLE and out.start - half < post.station < out.end + half:
            at, start, end = (words.station(x) for x in (post.station, out.start, out.end))
            found = f"stands at {at}, in the {out.reason} from {start} to {end}"
            yield warning(
                f"{layout.run.name}, post {post.number}",
                found,
                "check its station; if it is right, correct that stretch in the job file",
            )


def _too_tall(job: Job, layout: RunLayout, post: PostSet, words: Words) -> Iterator[Problem]:
    """A height that no post on offer has."""
    index = post.number - 1
    gate = layout.bays.kinds[index] is PostKind.GATE and job.posts.gate_stock
    longest = max(stock.length for stock in for_sale(job.posts.gate_stock if gate else job.posts.stock))
    if post.top is not None and post.top > longest and not layout.bays.old[index]:
        found = f"{words.fine(post.top)} over the ground is more than the longest post, {words.fine(longest)}"
        yield warning(f"{post.place}, top", found, "check the figure and its unit")


def _bays_too_wide(job: Job, layout: RunLayout, bays: Bays, words: Words) -> Iterator[Problem]:
    """Bays between posts as set that no rail spans, or that pass the spacing of the job."""
    limit = job.posts.spacing + 2 * POST_TOLERANCE
    for b, wide in enumerate(bays.width.tolist()):
        place = f"{layout.run.name}, bay {b + 1}"
        if bays.taken[b] > max(bays.reach, layout.bays.taken[b]) + SAME_LENGTH:
            yield warning(
                place,
                f"no rail reaches between the posts as set: {words.fine(float(bays.taken[b]))} is needed, "
                f"the longest is {words.fine(bays.reach)}",
                "set a post again, add one between, or buy a longer rail",
            )
        elif wide > max(limit, float(layout.bays.width[b])) + SAME_LENGTH:
            found = f"{words.fine(wide)} between the posts as set is more than the spacing, "
            found += words.fine(job.posts.spacing)
            yield warning(place, found, "check both stations; a post or a stiffer rail may be needed between")
