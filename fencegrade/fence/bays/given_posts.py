"""Posts whose place is given, and stretches no new post may stand in.

end      gate opening      face     existing      end
 ||----||            ||-----||---------||----------||
  p/2 |<- clear width ->|                     centres at the run's start and end
"""

from collections.abc import Iterator, Sequence
from enum import StrEnum
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace

from fencegrade.ground.profile import GroundLine
from fencegrade.job.records import Gate, Posts, Run
from fencegrade.problems import Problem, mistake, note, warning
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words, listed


class PostKind(StrEnum):
    """A post by its job."""

    END = "end"
    LINE = "line"
    GATE = "gate"
    FACE = "face"
    EXISTING = "existing"


Ends = tuple[bool, bool]
"""Something of the first and of the last post of a run."""


class ForcedPost(Struct, frozen=True, kw_only=True):
    """A post whose place is given: station of its centre (in), its job, whether it already stands.

    `width` along the run (in). `closes`: rails end here, so they cover the whole post. `opens`, `shuts`: a
    gate opening comes after it, before it.
    """

    station: float
    kind: PostKind
    width: float
    standing: bool = False
    closes: bool = False
    opens: bool = False
    shuts: bool = False


class Reason(StrEnum):
    """Why no post may stand in a stretch."""

    NO_POST = "no_post"
    ROOT = "root"
    KEEP_OPEN = "keep_open"
    OLD_HOLE = "old hole"


class KeepOut(Struct, frozen=True, kw_only=True):
    """A stretch (in) no new post may reach into, as the builder gave it, and why."""

    start: float
    end: float
    reason: Reason


def keep_outs(run: Run, hole: float) -> tuple[KeepOut, ...]:
    """Stretches that hold no post, in order: pipes and roots, water ways, holes of posts that are given up.

    `hole`: diameter of a hole (in).
    """
    found = [KeepOut(start=s.start, end=s.end, reason=Reason.NO_POST) for s in run.no_post]
    found += [KeepOut(start=s.start, end=s.end, reason=Reason.ROOT) for s in run.root]
    found += [KeepOut(start=s.start, end=s.end, reason=Reason.KEEP_OPEN) for s in run.keep_open]
    for old in run.existing_post:
        if not old.keep:
            low, high = old.station - hole / 2, old.station + hole / 2
            found.append(KeepOut(start=low, end=high, reason=Reason.OLD_HOLE))
    return tuple(sorted(found, key=lambda k: (k.start, k.end)))


def hangs_on_ends(run: Run, posts: Posts, start: float, end: float) -> Ends:
    """Whether the posts at a run's `start` and `end` (in) hang one of its gates."""
    beside = [post.station for post in _gate_posts(run, start, end, posts.section(gate=True)[0])]
    first, last = (any(abs(x - station) <= SAME_LENGTH for x in beside) for station in (start, end))
    return first, last


def forced_posts(
    run: Run,
    posts: Posts,
    line: GroundLine,
    start: float,
    end: float,
    words: Words,
    hung: Ends = (False, False),
) -> tuple[list[ForcedPost], list[Problem]]:
    """The posts of a run whose place is given, in order, and every mistake among them.

    A post that already stands takes the place of a gate or face post it would overlap; a face needs no post
    of its own where another stands within a post's width of it. Otherwise as `lay_bays`.
    """
    problems = list(_unfit(run, start, end, words))
    width, at_gates = posts.width, posts.section(gate=True)[0]
    problems += _gates_past_ends(run, start, end, at_gates, words)
    standing = _standing(run, posts, start, end)
    ends = [
        replace(post, kind=PostKind.GATE, width=max(width, at_gates)) if gate else post
        for post, gate in zip(_ends(start, end, standing, width), hung, strict=True)
    ]
    own = [*ends, *_gate_posts(run, start, end, at_gates)]
    own += [ForcedPost(station=x, kind=PostKind.FACE, width=width) for x in _faces(run, line, start, end)]
    found: list[ForcedPost] = []
    for post in own:
        _add(found, post, standing)
    taken = {p.station for p in found}
    found += [
        ForcedPost(station=x, kind=PostKind.EXISTING, width=width, standing=True)
        for x in standing
        if x not in taken
    ]
    found.sort(key=lambda p: (p.station, p.opens))
    problems += _crowded(run, found, words)
    return found, problems


def _standing(run: Run, posts: Posts, start: float, end: float) -> list[float]:
    """Stations of posts that stay where they are, each once."""
    given = sorted([*posts.fixed, *(p.station for p in run.existing_post if p.keep)])
    inside = [x for x in given if start - SAME_LENGTH <= x <= end + SAME_LENGTH]
    return [x for i, x in enumerate(inside) if i == 0 or x - inside[i - 1] > SAME_LENGTH]


def _unfit(run: Run, start: float, end: float, words: Words) -> Iterator[Problem]:
    runs = f"the run, {words.stretch(start, end)}"
    for k, post in enumerate(run.existing_post):
        if not start - SAME_LENGTH <= post.station <= end + SAME_LENGTH:
            yield outside(f"{run.name}, existing_post {k + 1}", post.station, runs, words)


def outside(place: str, station: float, runs: str, words: Words) -> Problem:
    """A post that is said to stand at a `station` (in) where no run is; `runs`: what there is, in words."""
    return mistake(
        place,
        f"the post at {words.station(station)} stands outside {runs}",
        "correct its station, or let the run reach it",
    )


def _gates_past_ends(run: Run, start: float, end: float, width: float, words: Words) -> Iterator[Problem]:
    for k, gate in enumerate(run.gate):
        if not _in_run(gate, start, end, width):
            yield mistake(
                f"{run.name}, gate {k + 1}",
                f"the opening {words.stretch(gate.station, gate.end)} leaves no room for a "
                f"gate post within the run, {words.stretch(start, end)}",
                f"keep the opening {words.fine(width / 2)} (half a post) inside the run's ends, where the "
                "end post then serves as gate post",
            )


def _ends(start: float, end: float, standing: Sequence[float], width: float) -> Iterator[ForcedPost]:
    for station in (start, end):
        stands = any(abs(x - station) <= SAME_LENGTH for x in standing)
        yield ForcedPost(station=station, kind=PostKind.END, width=width, standing=stands, closes=True)


def _faces(run: Run, line: GroundLine, start: float, end: float) -> Iterator[float]:
    """Faces that get a post: those inside the run, not in a gate opening, nor where no post can stand."""
    closed = [(s.start, s.end) for s in (*run.no_post, *run.root)]
    closed += [(s.start, s.end) for s in run.keep_open]
    closed += [(g.station, g.end) for g in run.gate]
    for face in line.faces.tolist():
        if start < face < end and not any(a < face < b for a, b in closed):
            yield face


def _in_run(gate: Gate, start: float, end: float, width: float) -> bool:
    """Whether both posts of a gate have their centres in the run."""
    return gate.station - width / 2 >= start - SAME_LENGTH and gate.end + width / 2 <= end + SAME_LENGTH


def _gate_posts(run: Run, start: float, end: float, width: float) -> Iterator[ForcedPost]:
    for gate in run.gate:
        if not _in_run(gate, start, end, width):
            continue
        left, right = gate.station - width / 2, gate.end + width / 2
        yield ForcedPost(station=left, kind=PostKind.GATE, width=width, closes=True, opens=True)
        yield ForcedPost(station=right, kind=PostKind.GATE, width=width, closes=True, shuts=True)


def _add(found: list[ForcedPost], post: ForcedPost, standing: Sequence[float]) -> None:
    """Add a post, unless one that serves for it is there; one that stands takes its place."""
    width = post.width
    for i, other in enumerate(found):
        same = abs(other.station - post.station) <= SAME_LENGTH
        if same or (post.kind is PostKind.FACE and abs(other.station - post.station) < width):
            kind = PostKind.GATE if post.kind is PostKind.GATE else other.kind
            opens, shuts = other.opens or post.opens, other.shuts or post.shuts
            found[i] = replace(other, kind=kind, width=max(other.width, width), opens=opens, shuts=shuts)
            return
    near = [x for x in standing if abs(x - post.station) < width and _serves(x, post)]
    if near:
        found.append(replace(post, station=near[0], standing=True))
    else:
        found.append(post)


def _serves(standing: float, post: ForcedPost) -> bool:
    """Whether a post that stands can be this one: a gate post must not narrow the opening."""
    if post.kind is not PostKind.GATE:
        return post.kind is PostKind.FACE
    return standing <= post.station + SAME_LENGTH if post.opens else standing >= post.station - SAME_LENGTH


def _crowded(run: Run, found: Sequence[ForcedPost], words: Words) -> Iterator[Problem]:
    """Posts that overlap each other or stand in an opening."""
    for first, second in pairwise(found):
        width = (first.width + second.width) / 2
        both = words.fine(width)
        size = f"a post is {both} wide" if first.width == second.width else f"half of each comes to {both}"
        if second.station - first.station < width - SAME_LENGTH and not first.opens:
            yield mistake(
                f"{run.name}, {words.station(second.station)}",
                f"the {first.kind} post at {words.station(first.station)} and the {second.kind} post at "
                f"{words.station(second.station)} overlap: centres are "
                f"{words.fine(second.station - first.station)} apart, {size}",
                "move one of them by the missing width, or let one post serve for both",
            )
        if first.opens and second.opens and not second.shuts:
            yield mistake(
                f"{run.name}, {words.station(second.station)}",
                f"there is no room for a post between two gate openings at {words.station(second.station)}",
                f"keep openings a post's width ({words.fine(width)}) or more apart",
            )
        elif first.opens and not second.shuts:
            yield mistake(
                f"{run.name}, {words.station(second.station)}",
                f"the {second.kind} post at {words.station(second.station)} stands in the gate opening after "
                f"{words.station(first.station)}",
                "move the gate clear of the post by half a post's width, or take the post out",
            )


def reaching_in(
    run: Run,
    forced: Sequence[ForcedPost],
    outs: Sequence[KeepOut],
    hole: float,
    line: GroundLine,
    words: Words,
) -> Iterator[Problem]:
    """What the builder must know of given posts that stand in, or whose hole reaches into, a keep-out."""
    for post in forced:
        for out in outs:
            if (
                post.standing
                or not out.start - hole / 2 + SAME_LENGTH < post.station < out.end + hole / 2 - SAME_LENGTH
            ):
                continue
            place = f"{run.name}, {words.station(post.station)}"
            stretch = f"the {out.reason} stretch {words.stretch(out.start, out.end)}"
            if out.reason is Reason.OLD_HOLE:
                yield warning(
                    place,
                    f"the new {post.kind} post stands in the hole of the old one",
                    "dig out the old concrete, or move the end of the run",
                )
            elif out.start + SAME_LENGTH < post.station < out.end - SAME_LENGTH:
                yield mistake(
                    place,
                    f"the {post.kind} post has to stand in {stretch}",
                    "move the end, gate or face clear of the stretch, or correct the stretch",
                )
            else:
                ways = _moved_clear(post, out, forced, line, words)
                yield _into(place, post, out, stretch, hole, ways, words)


def _into(
    place: str, post: ForcedPost, out: KeepOut, stretch: str, hole: float, move: str, words: Words
) -> Problem:
    """How far a post whose middle stands beside a keep-out, or its hole alone, reaches into it."""
    off = max(out.start - post.station, post.station - out.end)
    inside, of_hole = post.width / 2 - off, words.fine(hole / 2 - off)
    if inside <= SAME_LENGTH:
        return warning(
            place,
            f"the hole of the {post.kind} post reaches {of_hole} into {stretch}",
            "cut the hole off there and dig it as much longer on its other sides, by hand; a wall, rock or "
            "pipe is not dug",
        )
    return warning(
        place,
        f"{words.fine(inside)} of the {post.kind} post and {of_hole} of its hole would stand in {stretch}; a "
        "wall, rock or pipe is not dug",
        move,
    )


def _moved_clear(
    post: ForcedPost, out: KeepOut, forced: Sequence[ForcedPost], line: GroundLine, words: Words
) -> str:
    """How a post that stands partly in a stretch comes clear of it: what is moved, and which way.

    An end post that also hangs a gate takes both along; nothing goes where the ground was not read.
    """
    before = post.station < (out.start + out.end) / 2
    clear = out.start - post.width / 2 if before else out.end + post.width / 2
    aside = words.fine(abs(clear - post.station))
    if post.kind is PostKind.FACE:
        return (
            f"set the post {aside} aside, beside the stretch, its hole cut off there, and tape the rails of "
            "its bays before you cut them"
        )
    at_end = post.station in (forced[0].station, forced[-1].station)
    moved = ["the opening"] * (post.opens or post.shuts) + ["this end of the run"] * at_end
    way = f"move {listed(moved)} by {aside} toward the run's {'start' if before else 'end'} in the job file"
    if line.start - SAME_LENGTH <= clear <= line.end + SAME_LENGTH:
        return f"{way}: the post then stands beside the stretch"
    return f"the readings end here: read the ground farther and {way}, or correct the stretch"


def standing_notes(run: Run, forced: Sequence[ForcedPost], width: float, words: Words) -> Iterator[Problem]:
    """Where a gate hangs on a post that already stands farther off, how much wider the opening is."""
    for gate in run.gate:
        edges = {gate.station - width / 2: 1, gate.end + width / 2: -1}
        for wanted, outward in edges.items():
            for post in forced:
                off = (wanted - post.station) * outward
                if post.kind is PostKind.GATE and post.standing and SAME_LENGTH < off < width:
                    yield note(
                        f"{run.name}, {words.station(post.station)}",
                        f"the post that stands here serves as gate post; the opening is {words.fine(off)} "
                        "wider",
                        "make the gate to the opening as it stands",
                    )
