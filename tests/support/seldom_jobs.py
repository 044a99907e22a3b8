"""Jobs, records and questions for sentences that are seldom told; cases as in `wrong_jobs`."""

from leaning import leaning
from wrong_jobs import HALF, PLAN, ROWS, UP, Case, job

DETAILS = [*PLAN, "--details"]
RESUME, PLUMB = ["resume", "."], ["plumb", "--job", "."]
LEAN = leaning("1/2 in")
LEFT = '[[left]]\nlength = "6 ft"\ncount = 5\n[[left]]\nlength = "8 ft"\ncount = 40\n'
SIDE = '[[run]]\nname = "side"\n'
HOLLOW = ROWS + "0,20,\n8,22,\n12,33,\n16,24,\n24,20,\n"
HUMP = ROWS + "0,40,\n2,40,\n4,22,\n6,40,\n8,41,\n12,42,\n16,41,\n24,44,\n"
PEAK = ROWS + "0,20,\n12,24 ft,\n12.5,40 ft,\n24,20,\n"
FALLING = ROWS + "0,20,\n4,20,\n8,20,\n12,80,\n16,140,\n20,140,\n24,140,\n"
BOOK = "station [m],backsight [m],intermediate [m],foresight [m]\n"


def _with(pickets: str, more: str = "", run: str = "") -> str:
    """The job `HALF` with keys of pickets, of the run, and further tables."""
    return HALF.replace("[[pickets", f"{run}[pickets]\n{pickets}\n[[pickets", 1) + more


GATE = '[[run.gate]]\nstation = "10 ft"\nwidth = "3 ft 6 in"\n'
TWO_GATES = '[[run.gate]]\nstation = "4 ft"\nwidth = "3 ft"\n[[run.gate]]\nstation = "{}"\nwidth = "3 ft"\n'
WATER = '[[run.keep_open]]\nstart = "{}"\nend = "{}"\nheight = "3 in"\n'
LOW_PRICES = _with('clearance = "0 in"', '[soil]\nlow_ground = "{}"\n')
LOW_PRICES = LOW_PRICES.replace('"6 ft"', '"6 ft"\nprice = 4').replace('"8 ft"', '"8 ft"\nprice = 6')

SELDOM: dict[str, Case] = {
    "flat tops, nothing fits": (
        [*RESUME, "--after", "49", "--at", "23 ft 6 in"],
        job(_with('top_end = "flat"')),
    ),
    "both ends ripped": (
        [*RESUME, "--after", "30", "--at", "14 ft 4 in"],
        job(_with('fit = "rip both ends"', run='end = "23 ft 7 in"\n')),
    ),
    "last one ripped": (
        [*RESUME, "--after", "40", "--at", "19 ft 3 in"],
        job(_with('fit = "rip last"', run='end = "23 ft 9 in"\n')),
    ),
    "open at the end": (
        [*RESUME, "--after", "45", "--at", "21 ft 7-1/8 in"],
        job(_with('fit = "rip last"')),
    ),
    "fewer up than written": (
        [*RESUME, "--after", "5", "--at", "3 ft"],
        job(HALF, built=UP.format(at="4 ft 9 in")),
    ),
    "off the pile": (
        [*RESUME, "--after", "14", "--at", "6 ft 8-1/2 in"],
        job(HALF, built=LEFT + UP.format(at="4 ft 9 in")),
    ),
    "keep nothing": ([*RESUME, "--keep"], job(HALF)),
    "a lean at the end": ([*PLUMB, "--after", "50", *LEAN], job(HALF)),
    "a lean over what": ([*PLUMB, "--after", "5", "--lean", "1/2 in"], job(HALF)),
    "a lean without a job": (["plumb", "--after", "5", *LEAN], {}),
    "a post in the ground": (
        PLAN,
        job(_with("", '[posts]\nheight = "-80 in"\n[rails]\ntop_reveal = "80 in"\n')),
    ),
    "many rails": (PLAN, job(_with("", "[rails]\ncount = 45\n"))),
    "a peak": (PLAN, job(_with("", '[top]\nstyle = "level"\n'), PEAK)),
    "a hump and short posts": (
        DETAILS,
        job(
            _with(
                "",
                '[posts]\nhole_diameter = "14 in"\nshare_tolerance = 0\n[[posts.stock]]\nlength = "8 ft"\n'
                'price = 9\n[[posts.stock]]\nlength = "10 ft"\nprice = 12\n[top]\nstyle = "sloped"\n',
            ),
            HUMP,
        ),
    ),
    "a gate in water": (PLAN, job(_with("", run=GATE + WATER.format("13 ft 4 in", "14 ft")))),
    "a post that stands and water": (
        DETAILS,
        job(
            _with(
                "",
                '[posts]\nspacing = "7 ft 4 in"\n',
                run=GATE
                + '[[run.existing_post]]\nstation = "9 ft 8-3/4 in"\n'
                + WATER.format("4 ft", "5 ft 9 in"),
            )
        ),
    ),
    "a gate set wider": (
        DETAILS,
        job(
            _with("", run='[[run.gate]]\nstation = "7 ft"\nwidth = "14 ft"\nleaves = 2\n'),
            built=(SIDE + '[[run.post]]\nnumber = 2\nstation = "6 ft 8 in"\n'),
        ),
    ),
    "drying apart": (
        PLAN,
        job(
            _with(
                'pattern = "board on board"\nspacing = "5-1/4 in"\nmoisture_now = "wet"\n'
                'moisture_service = "8 %"'
            )
        ),
    ),
    "swelling in rows": (
        PLAN,
        job(
            _with(
                'pattern = "shadowbox"\nspacing = "0 in"\nmoisture_now = "8 %"\nmoisture_service = "40 %"\n'
                'widths = ["5-1/2 in", "5-1/2 in"]'
            )
        ),
    ),
    "one width far off": (PLAN, job(_with('widths = ["5-1/2 in", "5-1/2 in", "9 in"]'))),
    "a page closes nowhere": (PLAN, job(HALF, BOOK + "0,1.2,,\n2,1.25,,1.3\n4,,,1.1\n")),
    "a sight off": (PLAN, job(HALF, BOOK + "0,1.2,,\n2,,1.3,1.4\n4,,,1.1\n")),
    "a lean over a hand": (["plumb", *leaning("1/8 in", "2 in")], {}),
    "gates side by side": (
        PLAN,
        job(
            _with(
                "",
                run=TWO_GATES.format("7 ft") + '[[run.existing_post]]\nstation = "20 ft"\nheight = "60 ft"\n',
            )
        ),
    ),
    "gates without a post": (PLAN, job(_with("", run=TWO_GATES.format("7 ft")))),
    "gates near each other": (DETAILS, job(_with("", run=TWO_GATES.format("8 ft 3 in")))),
    "no bay": (
        PLAN,
        job(_with("", '[posts]\nwidth = "11 in"\nhole_diameter = "20 in"\nspacing = "11 in"\n')),
    ),
    "many dips": (
        PLAN,
        job(
            _with("", '[top]\nstyle = "racked"\nmost_height = "6 ft 8 in"\n[posts]\nspacing = "4 ft"\n'),
            ROWS + "".join(f"{2 * k},{20 + 14 * (k % 2)},\n" for k in range(23)),
        ),
    ),
    "posts in each other": (
        PLAN,
        job(
            HALF,
            built=SIDE
            + '[[run.post]]\nnumber = 1\nstation = "4 ft"\n[[run.post]]\nnumber = 2\nstation = "4 ft 1 in"\n',
        ),
    ),
    "a board past the end": (
        PLAN,
        job(HALF, built=SIDE + '[[run.picket]]\nnumber = 50\nfar_edge = "24 ft 1/2 in"\n'),
    ),
    "all up and short": ([*RESUME, "--after", "50", "--at", "23 ft 11-3/4 in"], job(HALF)),
    "tops with some up": (["compare", "."], job(HALF, built=UP.format(at="4 ft 9 in"))),
    "heights with some up": (["heights", "."], job(HALF, built=UP.format(at="4 ft 9 in"))),
    "no texts": (PLAN, job(HALF.replace('"s.csv"', "3").replace('"side"', '["side"]'))),
    "a list too deep": (["boards", "list"], {"list": "[" * 3000}),
    "a list of digits": (["boards", "list"], {"list": '{"kerf": ' + "9" * 5000 + "}"}),
    "a job too deep": (PLAN, job("a = " + "[" * 3000)),
    "a job of digits": (PLAN, job("a = " + "9" * 5000)),
    "a workbook": (PLAN, job(HALF, "PK\x03\x04 sheet")),
    "a list with a zero character": (["boards", "list"], {"list": "\x00"}),
    "a job with a zero character": (PLAN, job("\x00")),
    "a zero character": (PLAN, job(HALF, "station [ft]\x00,drop")),
    "many mistakes": (PLAN, job(HALF, "station [ft],drop [in]\n" + "x,20\n" * 60)),
    "faces by halves": (
        PLAN,
        job(HALF, "station [ft],drop [in],side\n0,20,\n4,21,before\n8,22,\n8,23,after\n"),
    ),
    "levelled along the string": (["check", "."], job(_with("", run="tops_levelled = true\n"))),
    "measured and off": (
        PLAN,
        job(
            HALF,
            built=(
                SIDE + '[[run.measured]]\nnumber = 28\ndrop = "78 in"\n'
                '[[run.measured]]\nnumber = 20\ndrop = "3 ft"\n'
                '[[run.measured]]\nnumber = 21\nleft_edge = "9 ft 3 in"\ndrop = "2 ft"\n'
            ),
        ),
    ),
    "an edge twice": (
        PLAN,
        job(
            HALF,
            built=(
                SIDE + '[[run.picket]]\nnumber = 9\nfar_edge = "4 ft 4 in"\n'
                '[[run.picket]]\nnumber = 12\nfar_edge = "4 ft 4 in"\n'
            ),
        ),
    ),
    "a post past the readings": (
        PLAN,
        job(HALF, built=(SIDE + '[[run.post]]\nnumber = 4\nstation = "24 ft 6 in"\n')),
    ),
    "soil without a price": (DETAILS, job(LOW_PRICES.format("cheapest"), HOLLOW)),
    "soil touches": (PLAN, job(LOW_PRICES.format("soil"), HOLLOW)),
    "taped along the slope": (
        ["heights", "."],
        job(
            _with(
                "", run='stations_taped = "along the slope"\n[[run.string]]\nsag = "4 in"\nend = "36 ft"\n'
            ),
            ROWS + "0,20,\n4,31,\n8,62,\n12,94,\n16,123,\n20,145,\n24,174,\n30,210,\n36,240,\n",
        ),
    ),
    "heights": (["heights", "."], job(HALF)),
    "a steep yard": (["compare", "."], job(HALF, FALLING)),
    "a steep yard stepped": (DETAILS, job(_with("", '[top]\nstyle = "stepped"\n'), FALLING)),
}

SHORT = ROWS + "0,20,\n4,21,\n8,22,\n"
BARE_LIST = """{"kerf": 3, "stock": [{"length": 100}, {"length": 70}], "pieces": [{"length": 30, "count": 5},
 {"length": 41, "count": 2, "name": "side"}, {"length": 41, "name": "end"}, {"length": 41}]}"""
REPEATS = """station [ft],drop [in],string
0,20,A
8,20,A
8,20.25,A
16,21,A
16,21,B
24,20,B
"""
SAGS = (
    '[[run.string]]\nid = "A"\nstart = "0 ft"\nend = "16 ft"\nheight = "0 in"\nsag = "1/4 in"\n'
    '[[run.string]]\nid = "B"\nstart = "16 ft"\nend = "24 ft"\n'
)
LOW_STRING = '[top]\nleast_height = "3 ft"\n[[posts.stock]]\nlength = "8 ft"\n'
RISING = "station [ft],elevation [in]\n0,0\n8,30\n16,62\n24,90\n"
IMPOSSIBLE = _with(
    "",
    '[rails]\n[[rails.stock]]\nlength = "8 ft"\n[posts]\nhole_diameter = "6 in"\n',
    run='[[run.no_post]]\nstart = "7 ft"\nend = "14 ft 4 in"\n',
)
CALM = (
    '[top]\nleast_height = "3 ft"\n[posts]\nwidth = "5-1/2 in"\nspacing = "4 ft"\nleast_depth = "4 ft"\n'
    '[site]\nwind_pressure = "5 psf"\nsoil = "gravel"\n'
)
FEW: dict[str, Case] = {
    "a list without units": (["boards", "list.json"], {"list.json": BARE_LIST}),
    "laid again, for machines": (
        [*RESUME, "--json"],
        job(HALF, SHORT, built=UP.format(at="4 ft 10 in")),
    ),
    "tops, one of them impossible": (["compare", "."], job(IMPOSSIBLE, RISING)),
    "tops, one of them impossible, for machines": (["compare", ".", "--json"], job(IMPOSSIBLE, RISING)),
    "wind that all posts pass": (["compare", "."], job(_with("", CALM), ROWS + "0,20,\n8,20,\n")),
    "wind that all new posts pass": (
        ["compare", "."],
        job(
            _with("", CALM, run='[[run.existing_post]]\nstation = "0 ft"\nheight = "6 ft"\n'),
            ROWS + "0,20,\n8,20,\n",
        ),
    ),
    "readings, for machines": (["check", ".", "--json"], job(_with("", run=SAGS), REPEATS)),
    "a lean that closes gaps": (
        ["plumb", *leaning("1 in"), "--spacing", "1/32 in", "--boards", "8"],
        {},
    ),
    "a string over the tops": (PLAN, job(_with("", LOW_STRING), ROWS + "0,60,\n8,61,\n16,60,\n24,62,\n")),
}
