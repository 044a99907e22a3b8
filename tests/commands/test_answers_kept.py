"""What is answered before an interview is stopped, and what a question that is asked again offers."""

from collections.abc import Iterator, Sequence
from contextlib import suppress

import pytest

from fencegrade.cli.interview import ask_question, ask_questions
from fencegrade.job.interview import Draft, Kind, Question, draft_of, drafted_job, fresh_draft, questions
from fencegrade.job.prices import CURRENCY
from fencegrade.units import UnitSystem

IMPERIAL = UnitSystem.IMPERIAL


def of_kind(*kinds: Kind) -> tuple[Question, ...]:
    return tuple(q for q in questions(IMPERIAL) if q.kind in kinds)


class Typist:
    """Types answers and then ends the input; the prompts it saw."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.prompts: list[str] = []
        self.lines: Iterator[str] = iter(())
        monkeypatch.setattr("builtins.input", self._typed)

    def _typed(self, prompt: str) -> str:
        self.prompts.append(prompt)
        try:
            return next(self.lines)
        except StopIteration:
            raise EOFError from None

    def asked(self, draft: Draft, asked: Sequence[Question], *lines: str) -> Draft:
        """The draft as it was last saved; read again from its file, as the next sitting does."""
        saved, self.lines = [draft], iter(lines)
        self.prompts.clear()
        with suppress(EOFError):
            left = tuple(q for q in asked if q.name not in draft.asked)
            saved.append(ask_questions(draft, left, saved.append))
        return draft_of(drafted_job(saved[-1]))

    def again(self, draft: Draft, question: Question, *lines: str) -> Draft:
        """A question asked again by itself."""
        self.lines = iter(lines)
        self.prompts.clear()
        return draft_of(drafted_job(ask_question(draft, question)))


@pytest.fixture
def typist(monkeypatch: pytest.MonkeyPatch) -> Typist:
    return Typist(monkeypatch)


@pytest.fixture
def begun() -> Draft:
    """One question answered, so that the file says what was asked."""
    title = next(q for q in questions(IMPERIAL) if q.name == "job.title")
    return fresh_draft(IMPERIAL).having(title, {title.place: "Kept"})


def test_gates_and_posts_are_gone_on_with_where_they_stopped(typist: Typist, begun: Draft) -> None:
    asked = of_kind(Kind.GATES, Kind.POSTS)
    draft = typist.asked(begun, asked, "4 ft", "4 ft", "20 ft")
    assert draft.value(("run", "gate")) == [{"station": "4 ft", "width": "4 ft"}]
    assert "run.gate" not in draft.asked
    draft = typist.asked(draft, asked, "", "30 ft", "40 ft")
    assert typist.prompts[:2] == ["  next [done]: ", f"{asked[1].words} [none]: "]
    draft = typist.asked(draft, asked, "50 ft", "no")
    assert [gate["station"] for gate in draft.value(("run", "gate"))] == ["4 ft"]
    assert [post["station"] for post in draft.value(("run", "existing_post"))] == ["30 ft", "40 ft", "50 ft"]
    assert typist.asked(draft, asked, "x").answers == {}


def test_gates_asked_again_are_kept_by_an_empty_line_or_replaced(typist: Typist, begun: Draft) -> None:
    (gates,) = of_kind(Kind.GATES)
    draft = typist.asked(begun, (gates,), "4 ft", "4 ft", "20 ft", "3 ft", "")
    kept = typist.again(draft, gates, "")
    assert typist.prompts == [f"{gates.words} [keep them]: "]
    assert [gate["station"] for gate in kept.value(gates.place)] == ["4 ft", "20 ft"]
    (other,) = typist.again(draft, gates, "9 ft", "", "").value(gates.place)
    assert other["station"] == "9 ft"
    assert typist.again(draft, gates, "none").value(gates.place) is None


def test_picket_lengths_and_prices_are_gone_on_with(typist: Typist, begun: Draft) -> None:
    stock, *prices = of_kind(Kind.STOCK, Kind.PRICES)
    draft = typist.asked(begun, (stock,), "4 ft", "3.95", "22", "5 ft", "4.95")
    assert draft.value(stock.place) == [{"length": "4 ft", "price": 3.95, "on_hand": 22}]
    draft = typist.asked(draft, (stock,), "6 ft", "5.90", "", "")
    assert typist.prompts[0] == "  length 2: "
    assert [one["length"] for one in draft.value(stock.place)] == ["4 ft", "6 ft"]
    over = typist.asked(begun, (stock,), "8 ft", "", "5", "no", "6 ft", "3", "", "8 ft", "", "5", "no", "")
    assert over.value(stock.place)[1] == {"length": "8 ft", "on_hand": 5, "limit": 0}, "what is sold first"
    draft = typist.asked(draft, prices, "14.20", "no")
    assert typist.prompts[1:] == [f"Price of a post of {n} ft [not sold]: " for n in (10, 12)]
    draft = typist.asked(draft, prices, "no", "24.50", "none")
    assert [one["length"] for one in draft.value(("posts", "stock"))] == ["8 ft", "12 ft"]
    assert "stock" not in draft.base.get("rails", {})


def test_the_usual_lengths_of_a_job_begun_were_not_given(typist: Typist, begun: Draft) -> None:
    """Stopped before the first length, the file holds the usual ones: they are no lengths of the yard's."""
    (stock,) = of_kind(Kind.STOCK)
    draft = typist.asked(begun, (stock,))
    assert [one["length"] for one in draft.value(stock.place)] == ["6 ft", "8 ft", "10 ft"]
    draft = typist.asked(draft, (stock,), "4 ft", "3.60", "", "")
    assert typist.prompts[0] == "  length 1 [6 ft, 8 ft, 10 ft]: "
    assert draft.value(stock.place) == [{"length": "4 ft", "price": 3.6}]


def test_a_length_typed_again_is_taken_out_and_a_price_may_stand_beside_one(
    typist: Typist, begun: Draft, capsys: pytest.CaptureFixture[str]
) -> None:
    (stock,) = of_kind(Kind.STOCK)
    draft = typist.asked(begun, (stock,), "4 ft:3.60", "", "5 ft : $4.90", "", "6 ft:x", "1.20")
    assert [(one["length"], one["price"]) for one in draft.value(stock.place)] == [
        ("4 ft", 3.6),
        ("5 ft", 4.9),
    ]
    draft = typist.asked(draft, (stock,), "48 in", "")
    said = capsys.readouterr().out
    assert "so far: 4 ft, 5 ft; to take one out type it again" in said
    assert "taken out: 48 in" in said
    assert draft.value(stock.place) == [{"length": "5 ft", "price": 4.9}]
    assert [
        one["length"] for one in typist.asked(begun, (stock,), "4 ft", "", "", "4 ft").value(stock.place)
    ] == [
        "6 ft",
        "8 ft",
        "10 ft",
    ], "the usual ones, where none is left"
    over = typist.asked(begun, (stock,), "4 ft", "3", "", "5 ft", "", "2", "no", "4 ft", "")
    assert [one["length"] for one in over.value(stock.place)] == ["4 ft", "5 ft"], "one that is sold stays"


def test_the_prices_of_a_job_are_in_one_money(
    typist: Typist, begun: Draft, capsys: pytest.CaptureFixture[str]
) -> None:
    (stock,) = of_kind(Kind.STOCK)
    draft = typist.asked(
        begun, (stock,), "4 ft", "1-3/4", "", "5 ft", "2,10 €", "", "6 ft", "$3", "3", "", ""
    )
    assert [one["price"] for one in draft.value(stock.place)] == [1.75, 2.1, 3.0]
    assert draft.value(("job", "currency")) == "€", "a fraction's stroke is no sign"
    told = "$3 is in $, and prices before are in €. Write all of a job in one money."
    assert told in capsys.readouterr().out
    more = typist.asked(draft.begun(stock), (stock,), "7 ft:£4", "4 €", "", "")
    assert more.value(("job", "currency")) == "€"
    for kind, answers in ((Kind.MONEY, ("$3", "3 €")), (Kind.PRICES, ("$3", "€3", "none"))):
        typist.asked(draft, of_kind(kind)[:1], *answers)
        assert told in capsys.readouterr().out


def test_the_money_of_a_length_taken_out_is_taken_out(typist: Typist, begun: Draft) -> None:
    (stock,) = of_kind(Kind.STOCK)
    draft = typist.asked(begun, (stock,), "4 ft", "€5", "", "4 ft", "4 ft", "$5", "", "")
    assert draft.value(("job", "currency")) == "$"


def test_a_sign_given_first_with_a_later_price_is_that_of_the_job(
    typist: Typist, begun: Draft, capsys: pytest.CaptureFixture[str]
) -> None:
    """Pickets are priced without one: a post's, a rail's or a bag's is kept, and no other taken after it."""
    (stock,), prices, (bag,) = of_kind(Kind.STOCK), of_kind(Kind.PRICES), of_kind(Kind.MONEY)
    bare = typist.asked(begun, (stock,), "4 ft", "3.60", "", "")
    assert bare.value(CURRENCY) is None
    draft = typist.asked(bare, prices[:1], "14", "€17.50", "$20", "20")
    assert [one["price"] for one in draft.value(("posts", "stock"))] == [14, 17.5, 20]
    assert draft.value(CURRENCY) == "€"
    told = "is in $, and prices before are in €. Write all of a job in one money."
    assert capsys.readouterr().out.count(told) == 1
    assert typist.asked(bare, (bag,), "6 kr").value(CURRENCY) == "kr"
    again = typist.again(draft, stock, "5 ft", "$4", "4", "", "")
    assert again.value(CURRENCY) == "€", "boards given anew are priced beside the posts"
    assert told in capsys.readouterr().out
    assert typist.again(typist.asked(begun, (bag,), "6 kr"), bag, "$7").value(CURRENCY) == "$", (
        "no other price"
    )


def test_skipping_the_rest_takes_the_name_in_brackets(typist: Typist) -> None:
    asked = questions(IMPERIAL, "O'Hara")
    assert typist.asked(fresh_draft(IMPERIAL), asked, "skip").value(("job", "title")) == "O'Hara"
    kept = typist.asked(fresh_draft(IMPERIAL), asked, "Mine", "skip")
    assert kept.value(("job", "title")) == "Mine"


def test_skipping_the_rest_keeps_the_lines_of_a_list(typist: Typist, begun: Draft) -> None:
    draft = typist.asked(begun, of_kind(Kind.GATES), "4 ft", "4 ft", "skip")
    assert draft.value(("run", "gate")) == [{"station": "4 ft", "width": "4 ft"}]


def test_set_ups_are_gone_on_with(typist: Typist, begun: Draft) -> None:
    asked = of_kind(Kind.STRING)
    draft = typist.asked(begun, asked, "3", "0", "30 ft", "", "30 ft", "50 ft", "", "50 ft")
    assert [one["id"] for one in draft.value(("run", "string"))] == ["A", "B"]
    draft = typist.asked(draft, asked, "", "50 ft", "80 ft", "1 in")
    assert [(one["id"], one["start"]) for one in draft.value(("run", "string"))][2:] == [("C", "50 ft")]


def test_the_run_round_the_corner_is_asked_again_with_what_it_has(typist: Typist, begun: Draft) -> None:
    (run,) = of_kind(Kind.RUN)
    draft = typist.asked(begun, (run,), "yes", "back", "yes", "lane", "40 ft", "8 ft", "4 ft")
    assert draft.value(run.place)["gate"] == [{"station": "8 ft", "width": "4 ft"}]
    draft = typist.asked(draft, (run,), "", "", "20 ft", "3 ft", "")
    assert typist.prompts[:3] == [f"{run.words} [lane]: ", "  length of lane [40 ft]: ", "  next [done]: "]
    assert len(draft.value(run.place)["gate"]) == 2
    again = typist.again(draft, run, "", "30 ft", "")
    second = again.base["run"][1]
    assert (second["name"], second["survey"], second["join"]) == ("lane", "lane.csv", "side 1")
    assert (second["end"], len(second["gate"]), len(again.base["run"])) == ("30 ft", 2, 2)
    renamed = typist.again(draft, run, "alley", "as far as its readings go", "").base["run"][1]
    assert (renamed["name"], renamed["survey"], "end" in renamed) == ("alley", "lane.csv", False)
    assert len(typist.again(draft, run, "none").base["run"]) == 1
    named = draft.having(run, {run.place: {"name": "Yes"}})
    assert typist.again(draft_of(drafted_job(named)), run, "", "", "").value(run.place)["name"] == "Yes"


def test_no_and_nothing_say_none_where_nothing_is_an_answer(typist: Typist, begun: Draft) -> None:
    limit = next(q for q in questions(IMPERIAL) if q.name == "top.most_height")
    draft = typist.again(begun, limit, "7 ft")
    assert draft.value(limit.place) == "7 ft"
    assert typist.again(draft, limit, "no").value(limit.place) is None
    (stock,) = of_kind(Kind.STOCK)
    assert typist.again(begun, stock, "4 ft", "nothing", "", "").value(stock.place) == [{"length": "4 ft"}]
