"""A shorter rail that nearly reaches: what is told is what the plan then costs."""

from collections.abc import Callable

from fencegrade.job.read import Job
from fencegrade.planning.buying import buying_list
from fencegrade.planning.plan import plan_fence

WriteJob = Callable[..., Job]

LEVEL = "station [ft],elevation [in]\n0,0\n12,0\n24,0\n39.6666666667,0\n"
POSTS = '[[posts.stock]]\nlength = "8 ft"\nprice = 14.6\n'
LONG = '[[rails.stock]]\nlength = "10 ft"\nprice = 9.10\n'


def rails(longer: str) -> str:
    return f'[posts]\n{POSTS}[rails]\n[[rails.stock]]\nlength = "8 ft"\nprice = 6.90\n{longer}'


def test_end_bays_a_little_narrower_let_the_short_rail_reach(write_job: WriteJob) -> None:
    """39 ft 8 in in five bays: even ones of 95.2 in want end rails of 96.95; 94-1/4 at the ends does."""
    plan = plan_fence(write_job(rails(LONG), lane=LEVEL))
    (told,) = [p for p in plan.problems if p.place == "posts and rails"]
    assert "rails of 8 ft reach in every bay" in told.found
    assert "with the same posts" in told.found
    other = plan_fence(write_job(rails(""), lane=LEVEL))
    spared = (buying_list(plan).cost or 0.0) - (buying_list(other).cost or 0.0)
    assert f"{spared:.2f} less" in told.found
    assert spared > 5


def test_nothing_is_told_where_the_short_rail_reaches_or_has_no_price(write_job: WriteJob) -> None:
    for keys in (rails(""), rails(LONG).replace("price = 9.10", "").replace("price = 6.90", "")):
        assert not [p for p in plan_fence(write_job(keys, lane=LEVEL)).problems if "rails of 8 ft" in p.found]
