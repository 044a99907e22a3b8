"""What a builder must see of the posts: their length, depth and places, and what a shorter one spares."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from fencegrade.fence.bays.bays import Bays
from fencegrade.fence.bays.given_posts import PostKind
from fencegrade.fence.posts.near_holes import near_holes
from fencegrade.fence.posts.posts import TOP_ALLOWED, PostSchedule
from fencegrade.fence.stock import NO_STOCK
from fencegrade.figures.holes import (
    COMMON_AUGER,
    HOLE_FOR_TAMPED_EARTH,
    NEAR_SHARE,
    ROUND_SOURCE,
    ROUND_THE_POST,
    SHARE_IN_GROUND,
)
from fencegrade.ground.profile import GroundLine
from fencegrade.job.records import Posts, Run
from fencegrade.problems import Problem, mistake, note, raise_mistakes, warning
from fencegrade.units import format_share, to_marks
from fencegrade.units.arrays import Floats, Indices, Truths, first_most
from fencegrade.units.tolerances import ROUNDING, SAME_LENGTH, WHOLE
from fencegrade.units.words import Words, numbered, plural

TALL_HEIGHT, TALL_SPACING, SMALL_POST = 78.0, 72.0, 3.5
"""Inches. Over 6-1/2 ft some places want 4x6 posts, or 4x4 posts no more than 6 ft apart: common practice, no
source; a rule of some places, not a general one."""


def post_findings(
    run: Run,
    bays: Bays,
    schedule: PostSchedule,
    line: GroundLine,
    posts: Posts,
    words: Words,
    railed: Truths | None = None,
    read_from: Floats | None = None,
    least_height: float | None = None,
) -> tuple[Problem, ...]:
    """What a builder must see of the posts of a run.

    `schedule`: the posts; `railed` (m,): bays whose rails are up, none by default: of a post between
    such bays alone it is no longer to be decided how high it should be; `read_from` (n,): elevation (in) of
    the line that heights are told over at each post, 0 by default; `least_height` of the tops (in), None
    where they can no longer be moved. What concerns the post of a corner is said of the run that ends there.
    Errors: JobMistakesError for new posts whose top would not stand above the ground.
    """
    crown = schedule.crown
    raise_mistakes(_buried(run, schedule, posts, crown, words))
    done = _decided(bays, railed)
    over = 0 * crown if read_from is None else read_from
    off = _standing_off(run, schedule, crown, done, over, least_height, words)
    return (
        *_findings(run, schedule, bays, posts, list(off), words),
        *_on_walls(run, schedule, line, words),
    )


def _decided(bays: Bays, railed: Truths | None) -> Truths:
    """The posts (n,) that rails already hang on, and no rail to come."""
    carries = np.zeros((2, len(bays.posts)), dtype=bool)
    for k, first in enumerate(bays.first.tolist()):
        carries[int(railed is not None and railed[k]), first : first + 2] = True
    return np.asarray(carries[1] & ~carries[0], dtype=bool)


def _buried(run: Run, schedule: PostSchedule, posts: Posts, crown: Floats, words: Words) -> Iterator[Problem]:
    found = np.flatnonzero(schedule.new & (crown - schedule.ground <= SAME_LENGTH))
    if len(found):
        k = int(found[0])
        yield mistake(
            f"{run.name}, {numbered('post', found)}",
            f"no post stands above the ground: at {words.station(float(schedule.station[k]))} the tops are "
            f"{words.fine(float(crown[k] - posts.height - schedule.ground[k]))} over it and [posts] height "
            f"puts the post {words.fine(-posts.height)} below them",
            "write a height nearer to 0, such as -6 in or -150 mm",
        )


def _findings(
    run: Run, schedule: PostSchedule, bays: Bays, posts: Posts, off: Sequence[Problem], words: Words
) -> Iterator[Problem]:
    """What is found of the posts of a run, in order; `off`: of those that stand."""
    if not schedule.sold.line:
        yield warning(f"{run.name}, posts", "no post length is offered", "add [[posts.stock]] with a length")
    else:
        yield from _too_long(run, schedule, words)
    yield from off
    yield from near_holes(run, schedule, bays.hangs, posts, words)
    yield from _deep_holes(run, schedule, schedule.depth + posts.gravel, words)
    yield from _spared(run, schedule, posts, words)
    yield from _shallow(run, schedule, words)
    yield from _tall(run, schedule, bays, posts, words)
    yield from _at_faces(run, schedule, words)
    yield from _narrow_holes(run, schedule, posts, words)


def _narrow_holes(run: Run, schedule: PostSchedule, posts: Posts, words: Words) -> Iterator[Problem]:
    """Holes too narrow for concrete all round their posts, or narrower than is usual."""
    told = set()
    for gate in (False, True):
        if not (schedule.new & (schedule.gate == gate)).any():
            continue
        sides, hole = posts.section(gate), posts.hole(gate)
        least = math.hypot(*sides) + ROUND_THE_POST
        if (sides, hole) not in told and hole < least - SAME_LENGTH:
            told.add((sides, hole))
            yield warning(
                f"{run.name}, holes",
                f"a hole of {words.fine(hole)} leaves too little concrete round a post of "
                f"{words.fine(sides[0])} by {words.fine(sides[1])}: {words.at_most(least)} is asked for, "
                f"{words.fine(ROUND_THE_POST)} more than its diagonal ({ROUND_SOURCE})",
                f"dig a wider one ({'gate_' if gate else ''}hole_diameter under [posts] in the job file), or "
                "ask the local authority",
            )
    if (
        not told
        and schedule.new.any()
        and (posts.hole_diameter < HOLE_FOR_TAMPED_EARTH * posts.width - SAME_LENGTH)
    ):
        yield note(
            f"{run.name}, holes",
            f"{words.fine(posts.hole_diameter)} is less than twice the posts' width",
            "three times the width with concrete, twice with tamped earth is common practice",
        )


def _own(run: Run, schedule: PostSchedule) -> Truths:
    """The posts (n,) set with this run: the first of one that joins another is the other's last."""
    own = schedule.new.copy()
    if run.join is not None and len(own):
        own[0] = False
    return own


def _too_long(run: Run, schedule: PostSchedule, words: Words) -> Iterator[Problem]:
    found = np.flatnonzero(schedule.new & (schedule.stock == NO_STOCK))
    if not len(found):
        return
    k = int(found[first_most(schedule.total[found])])
    longest = schedule.sold.of(k)[-1].length
    total = float(schedule.needed[k])
    yield warning(
        f"{run.name}, {numbered('post', found)}",
        f"no stock serves: post {k + 1} at {words.station(float(schedule.station[k]))} needs "
        f"{words.height_to_set(float(schedule.above[k]))} above the ground and "
        f"{words.length(float(schedule.depth[k]))} in it ({schedule.set_by(k)}), a post of "
        f"{words.length(total)}; the longest post is {words.sold_length(longest)}, "
        f"{words.fine(total - longest)} too short",
        "add a longer post, lower the top ([top] least_height), or change the depth rule where the local "
        "code allows",
    )


def _standing_off(
    run: Run,
    schedule: PostSchedule,
    crown: Floats,
    done: Truths,
    read_from: Floats,
    least_height: float | None,
    words: Words,
) -> Iterator[Problem]:
    """Posts that stand and are lower, or higher, than this top wants them by more than `TOP_ALLOWED`; not one
    too short that is `done` (n,), which nothing mends any more. By how much is told between the heights over
    the line `read_from` (n,) as the tape tells them, which stand in the table of the posts. Whose it is
    nobody wrote.
    """
    allowed = TOP_ALLOWED[words.system] + SAME_LENGTH
    for k in np.flatnonzero(schedule.standing).tolist():
        marks = [to_marks(float(z[k] - read_from[k]), words.mark) for z in (crown, schedule.top)]
        missing = (marks[0] - marks[1]) * words.mark
        place = f"{run.name}, post {k + 1} at {words.station(float(schedule.station[k]))}"
        if missing > allowed and not done[k]:
            yield warning(
                place,
                f"the post that stands here is {words.length(missing)} too short for this top",
                f"{lower_tops(least_height, missing, words)}let the pickets stand higher over the post, or "
                "set a new post",
            )
        elif missing < -allowed:
            yield note(
                place,
                f"the post that stands here is {words.length(-missing)} higher than this top wants it",
                "let it show, or, where it is yours, cut it down once the rails hang",
            )


def lower_tops(least_height: float | None, off: float, words: Words) -> str:
    """What is to be written for tops lower by so much (in), as the first of several ways; empty where they
    stay. The lines of some tops go down by less: what is left is told again.

    `least_height` of the tops (in), None where they can no longer be moved.
    """
    if least_height is None or least_height - off < words.mark:
        return ""
    wanted = words.length(math.floor((least_height - off) / words.mark + ROUNDING) * words.mark)
    return f"lower the tops of all runs: write {wanted} or less as [top] least_height and plan again; or "


def _deep_holes(run: Run, schedule: PostSchedule, holes: Floats, words: Words) -> Iterator[Problem]:
    """Holes deeper than a common auger goes."""
    drilled = COMMON_AUGER[words.system]
    found = np.flatnonzero(_own(run, schedule) & (holes > drilled + SAME_LENGTH))
    if len(found):
        deepest = words.length(float(holes[found].max()))
        yield note(
            f"{run.name}, {numbered('post', found)}",
            f"holes up to {deepest} deep with their gravel; a common auger drills {words.fine(drilled)}",
            "hire one with an extension, or dig the rest with a clamshell digger and a bar",
        )


def _spared(run: Run, schedule: PostSchedule, posts: Posts, words: Words) -> Iterator[Problem]:
    """Where a share a little under the one asked spares a longer post: taken, or to be had."""
    taken = posts.share_tolerance > 0
    near = schedule if taken else _nearly(schedule, posts)
    eased = near.eased & _own(run, schedule)
    for stock in np.unique(near.stock[eased]).tolist():
        for gate in (False, True):
            found = np.flatnonzero(eased & (near.stock == stock) & (near.gate == gate))
            if len(found):
                yield _spared_note(run, near, found, posts, words)


def _nearly(schedule: PostSchedule, posts: Posts) -> PostSchedule:
    """The schedule as it would be with `NEAR_SHARE` of tolerance."""
    return schedule.eased_by(replace(posts, share_tolerance=NEAR_SHARE))


def _share_asked(posts: Posts) -> str:
    """The share of a post that is to stand in the ground, in words."""
    usual = abs(posts.depth_share - SHARE_IN_GROUND) <= WHOLE
    share = posts.depth_share * 100
    per_cent = format_share(posts.depth_share, 0 if abs(share - round(share)) <= WHOLE else 1)
    return "the usual third" if usual else f"the {per_cent} of depth_share"


def _spared_note(run: Run, near: PostSchedule, found: Indices, posts: Posts, words: Words) -> Problem:
    k = int(found[first_most(-near.share[found])])
    asked, own = float(near.choices[near.rule[k]].depth[k]), near.sold.of(k)
    short = own[int(near.stock[k])]
    longer = next((s for s in own if s.length >= near.above[k] + asked - SAME_LENGTH), None)
    left = f"{words.length(float(near.depth[k]))} in the ground ({format_share(near.share[k], 1)})"
    saved = 0.0
    if longer is not None and longer.price and short.price:
        saved = len(found) * (longer.price - short.price)
    saving = f", {words.money(saved)} less" if saved > 0 else ""
    sold = words.sold_length(short.length)
    over = words.fine(asked - float(near.depth[k]))
    if posts.share_tolerance > 0:
        than = f"{saving} than one of {words.sold_length(longer.length)}" if longer and saving else ""
        return note(
            f"{run.name}, {numbered('post', found)}",
            f"a post of {sold} suffices: it leaves {left}, {over} less than {_share_asked(posts)} asks{than}",
            'where the full share is wanted, write share_tolerance = "0 %" under [posts] in the job file',
        )
    return note(
        f"{run.name}, {numbered('post', found)}",
        f"{over} more than a post of {sold} gives; it would leave {left}{saving}",
        "where that is enough, write "
        f"depth_share = {np.floor(near.share[k] * 1000) / 1000:g} under [posts] in the job file",
    )


def _shallow(run: Run, schedule: PostSchedule, words: Words) -> Iterator[Problem]:
    """The new post with the least share of its length in the ground, where that is under a third and
    no shorter
    post was taken for it, which is told apart.
    """
    share = np.where(_own(run, schedule) & ~schedule.eased, schedule.share, np.inf)
    k = first_most(-share)
    if share[k] < SHARE_IN_GROUND - WHOLE:
        yield warning(
            f"{run.name}, post {k + 1} at {words.station(float(schedule.station[k]))}",
            f"{words.length(float(schedule.depth[k]))} of {words.length(float(schedule.needed[k]))} is in "
            f"the ground ({format_share(share[k], 1)}), less than the third that is common practice",
            "dig the tall posts' holes deeper, or ask what the local code wants",
        )


def _tall(run: Run, schedule: PostSchedule, bays: Bays, posts: Posts, words: Words) -> Iterator[Problem]:
    """Bays that are tall for the posts that carry them."""
    if min(posts.width, posts.thickness or posts.width) > SMALL_POST + SAME_LENGTH:
        return
    above = schedule.above - posts.height
    tall = np.maximum(above[bays.first], above[bays.first + 1]) > TALL_HEIGHT + SAME_LENGTH
    found = np.flatnonzero(tall & (bays.width > TALL_SPACING + SAME_LENGTH))
    if len(found):
        worst = float(np.maximum(above[bays.first], above[bays.first + 1])[found].max())
        yield warning(
            f"{run.name}, {plural(len(found), 'bay')} from {words.station(float(bays.left[found[0]]))} to "
            f"{words.station(float(bays.right[found[-1]]))}",
            f"tops stand up to {words.height(worst)} over the ground on posts {words.fine(posts.width)} wide",
            "take larger posts or set them closer, dig deeper, or ask the local authority: some ask for it "
            f"above {words.height(TALL_HEIGHT)}",
        )


def _at_faces(run: Run, schedule: PostSchedule, words: Words) -> Iterator[Problem]:
    for k, kind in enumerate(schedule.kinds):
        if kind is PostKind.FACE:
            yield warning(
                f"{run.name}, post {k + 1} at {words.station(float(schedule.station[k]))}",
                "the post stands at a wall or face; its length is taken from the lower ground",
                "a post or footing near a wall loads it: ask an engineer before digging",
            )


def _on_walls(run: Run, schedule: PostSchedule, line: GroundLine, words: Words) -> Iterator[Problem]:
    """New posts on ground that one face lifts and the next lets down again, as the top of a wall."""
    faces = line.faces
    up = line.elevation(faces) > line.elevation(faces, before=True)
    for k in np.flatnonzero(up[:-1] & ~up[1:]).tolist():
        a, b = float(faces[k]), float(faces[k + 1])
        at = (schedule.station > a + SAME_LENGTH) & (schedule.station < b - SAME_LENGTH)
        found = np.flatnonzero(at & schedule.new)
        if len(found):
            yield warning(
                f"{run.name}, {numbered('post', found)}",
                f"the ground from {words.stretch(a, b)} stands between two faces, as the top of a wall does",
                "if it is one, dig no hole there: ask an engineer what it carries and how posts are anchored "
                "on it, and take their holes and concrete off the list",
            )
