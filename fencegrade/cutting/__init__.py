"""Cutting plans for lengths in whole tape marks: exact, with a proof of how good they are.

Knows integers only: pieces, stock boards, a saw kerf and prices. `cut_plan` is the whole of it for most
callers.

**What is solved.** Pieces of given lengths are cut from boards of several lengths and prices, some on
hand, some limited, at least cost. The saw cut is folded into lengths (`model`), prices are money in steps
(`reading`), equal pieces are merged. A board with its pieces is a *filling*, cut some number of times.

**In what order**, each step only where those before left a gap between plan and bound:

0. Where no board holds two pieces, or may not, the cheapest boards are taken in order (`single`).
1. Greedy plans (`constructive`); bounds of material and of counting (`bounds`; Martello and Toth 1990).
   Half of all classical lists end here.
2. Too few boards on offer is a question of its own: the same search with every offered board free. Only
   what is proven is refused.
3. `search`, for one kind of board or several. Any piece values give a *row* that every set of boards must
   meet (`rows`). The cheapest set that meets all rows (`sets`) is the bound; of one kind it is a number. It
   is filled exactly (`filling`: sums of lengths as bits) and mended (`mending`: a few boards emptied and
   filled again, Schrimpf and others 2000). The fillings made start the next step.
4. Column generation (Gilmore and Gomory 1961; `columns`, priced by the table of `knapsack`; the programme
   of `master` goes on from its last basis, and at first a piece may stand for the next shorter one, which
   halves the rounds: Valério de Carvalho 2005). Its values rounded to whole numbers make the bound exact
   (Farley 1990) and are the next row; its plan is rounded.
5. Set after set is checked by column generation, begun from the basis of the root: either its values make a
   row that cuts it off (Benders 1962), or it is filled by rounding, mending and a dive. A dive (`diving`)
   fixes part of the fractional plan and prices what is left as a list of its own, of several kinds from
   the basis before; fillings of the last boards are listed (`patterns`), and a way down from the linear
   optimum for random costs ends in whole numbers (`master.plunge`); where it ends without, it frees some
   boards and goes on. No set below the plan: the plan is proven. Most lists end here.
6. What is still open: values from the middle of the best ones (`master.Programme.inward`), so that few
   fillings can still be used, all of which `patterns` lists and an integer programme chooses from; in turn
   with it a few dives of the whole for a plan ever nearer to the bound.

**When it ends.** Proven; or within 0.02 % once a set has not been filled; or when all steps or the work given
are done. Work is counted, not timed (`effort`), so the same list gives the same plan on any machine that has
the same version of HiGHS, and any proven plan the same cost with all of them; the clock is an emergency stop.

Then equal cost is settled for the saw by swaps (`polish`), and on short lists by an integer programme over
every filling (`settling`), pieces get their real lengths (`laying`), and an independent check goes over the
plan before anyone sees it (`audit`).
"""

from fencegrade.cutting.mistakes import CuttingError, CuttingMistake, NoPlanFoundError, TooFewBoardsError
from fencegrade.cutting.plan import cut_plan, plan_problem
from fencegrade.cutting.reading import read_problem
from fencegrade.cutting.records import Board, CutPlan, Piece, Problem, Stock

__all__ = [
    "Board",
    "CutPlan",
    "CuttingError",
    "CuttingMistake",
    "NoPlanFoundError",
    "Piece",
    "Problem",
    "Stock",
    "TooFewBoardsError",
    "cut_plan",
    "plan_problem",
    "read_problem",
]
