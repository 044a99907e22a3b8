"""The list of boards before the first picket was up: what stands is taken to be cut as it says."""

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.stock import Needs, StockChoice, choose_stock
from fencegrade.job.choices import TopEnd
from fencegrade.job.read import Job
from fencegrade.planning.families import Family, PicketNames, as_once_sold, share_boards
from fencegrade.planning.laid import Begun
from fencegrade.units.arrays import Floats, Marks, Truths


class FirstList(Struct, frozen=True, kw_only=True, eq=False):
    """All pickets (n,) on boards as if none stood: the length `kept` of each in tape marks, what is cut from
    which board, and which are `up`. `known`: whether it is the very list that what is up was cut by; else it
    is another of the same lengths, and which pickets shared a board is not known."""

    kept: Marks
    family: Family
    up: Truths
    known: bool

    def begun(self, wood: Marks) -> tuple[Begun, ...]:
        """Boards, bought or on hand, that gave something to what is up and are to give more.

        `wood`: (n,) tape marks that each picket takes of its board now. Of those to come a board gives again
        what its list says, as far as there is wood for it, the longest first. None where that is not known.
        """
        if not self.known:
            return ()
        found = []
        for board, members in self.family.laid():
            up = [i for i in members if self.up[i]]
            left = board.stock - sum(int(self.kept[i]) + self.family.kerf for i in up)
            coming = []
            for i in sorted(set(members) - set(up), key=lambda i: (-wood[i], i)) if up else ():
                if wood[i] <= left:
                    coming.append(i)
                    left -= int(wood[i]) + self.family.kerf
            if coming:
                found.append(Begun(entry=board.entry, members=(*up, *coming)))
        return tuple(found)

    @property
    def used(self) -> list[int]:
        """Boards on hand of each stock offered that gave to what is up, those on hand before bought ones."""
        rows = zip(self.family.offered, self._taken(self.up), strict=True)
        return [min(s.on_hand, n) for s, n in rows]

    @property
    def parts_lost(self) -> bool:
        """Whether boards that gave something to what is up may have more to give, and which is not known."""
        return not self.known and self.family.boards_with(self.up) != self.family.boards_given(self.up)

    def started_since(self, new: Truths) -> list[int]:
        """Boards of each stock offered that give something to those `new` (n,), and nothing to what was up
        before."""
        then, now = (self._taken(up) for up in (self.up, self.up | new))
        return [b - a for a, b in zip(then, now, strict=True)]

    def _taken(self, up: Truths) -> list[int]:
        return self.family.boards_with(up) if self.known else self.family.boards_shared(up)


def first_list(
    job: Job, needs: Needs, choice: StockChoice, cut: Marks, names: PicketNames, up: Truths
) -> FirstList:
    """What was on the list before the first board was up.

    `choice`: of all pickets as if nothing stood; `cut` (n,): lengths that boards are known to be cut to, 0
    for none; `up` (n,): what is. The others have the lengths of that list, as far as those go with what is
    cut at no more cost.
    """
    stock = as_once_sold(job.pickets.stock)
    if up.any() and stock != job.pickets.stock:
        once = choose_stock(needs, stock)
        choice = replace(once, kept=np.minimum(once.kept, choice.kept))
    then, family = share_boards(job, needs, choice, names)
    known = not (then.kept != cut)[cut > 0].any()
    if not known:
        cost = family.plan.exact_cost
        fixed = np.where(cut > 0, cut, then.kept)
        then, family = share_boards(job, *_cut_so(needs, choice, fixed), names)
        if family.plan.exact_cost > cost:
            then, family = share_boards(job, *_cut_so(needs, choice, cut), names)
    return FirstList(kept=then.kept, family=family, up=up, known=known)


def known_cuts(job: Job, listed: Marks, hung: Floats, most: Marks) -> Marks:
    """The lengths (n,) in tape marks that boards which give several are known to be cut to, 0 where none is.

    `listed` (n,): by their list, 0 for the others; `hung` (n,) inches of those up, nan where it is not said;
    `most` (n,): at full length.
    """
    if job.pickets.top_end is not TopEnd.FLAT:
        return 0 * listed
    marks = np.round(np.nan_to_num(hung) / job.tape).astype(np.int64)
    return np.where((marks > 0) & (marks <= most), marks, listed)


def _cut_so(needs: Needs, choice: StockChoice, cut: Marks) -> tuple[Needs, StockChoice]:
    """Needs and lengths with boards `cut` (n,) already, in tape marks; 0 for one that is not."""
    kept = np.where(cut > 0, cut, choice.kept)
    return replace(needs, sure=np.where(cut > 0, cut, needs.sure)), replace(choice, kept=kept)
