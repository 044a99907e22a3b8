"""What `fencegrade new` asks and says, typed into from a list of answers, with the files it then leaves."""

from wrong_jobs import LEVEL, Case

TYPED = "typed"
"""Name under which a case holds what is typed at the terminal, a line an answer."""

RUN = '[[run]]\nname = "a"\nsurvey = "a.csv"\n'
MINE = f'[job]\ntitle = "Mine"\nunits = "metric"\n{RUN}[[pickets.stock]]\nlength = "1.8 m"\n'
READINGS = "station [m],drop [mm],note\n0,300,oak\n6,310,\n"
BOOK = "station [m],backsight [m],intermediate [m],foresight [m]\n0,1.2,,\n2,,1.3,\n4,,,1.4\n"

EVERYTHING = """The "lane" side
12 mm

12 m
95 mm
10 mm
?
90 mm
1.2 m
€2,40
12
1.5 m
3.10

1.4 m

14
no

1.2 m
1.8 m
?
sloped
4 m
1 m

0 m

x
1
?
maybe
no
-250 mm
9
9 m

9 mm
headland
6
6 m
2 m
1 m

11.20
13
15

6.40
?
0
?
300
11,5
310
back
11.5
310

0
310
6
330

"""
WRONG_ANSWERS = """cubits
i
back

64
64 ft
0 in

60 in
0
7 ft

4.35
6 ft
cheap
9 ft
4.35
x
3
8 ft
610

no
6 ft
4.35
3
8 ft
6.10

10 ft
760

no
10 ft
7.6





70
70 ft


19 ft

2
?
0
?
12 ft
?

9 ft
64 ft
-2 in
skip
back
0
-3
0
20
b
y
0
20
A
4
20.5
c
A
8
8.5

5 furlongs
70
20
B
y
n
4
20.75

y
4
30

n

8
13

"""
GONE_ON = """?
readings
3
304
9
311
12
315
15
330
18
30
5 furlongs
-1
333
21
600

15
500
n

21

change
?
99
change
1
Long lane
nothing
q
6 m
98 mm
skip
done
"""
SECOND_THOUGHTS = """i
Back yard
back
Back yard
40 ft
5-1/2 in
20 in
no
9 in
yes
2 in
6 ft, 8 ft, 10 ft
6 ft 2 in

racked
8 ft
7 ft
x
1
30 ft
30 ft


back
none
none
1
x
no
much
6 in
1/4 in
side 1
corner
?
9 ft
none
cheap
11
back
none
none
11.20
13
x
15.5
none
cheap
5
y
0
20
0
26
y
4
27
8
27.5

x
4

"""

BACK_AND_FORTH = """back

24 ft


0
6 ft
4

6 ft
8 ft
x
6.50




0







x


cheap
5.60
0
20
4
back
4
21
8
22
8
22
back
12
23
20
24
24
24
24
29
skip
back
"""
DIALOGS: dict[str, Case] = {
    "blank": (["new", "yard", "--blank"], {}),
    "blank, metric": (["new", "yard", "--blank", "--metric"], {}),
    "a job is there": (["new", "yard", "--blank"], {"yard/job.toml": MINE}),
    "of a survey": (["new", "yard", "--survey", "s.csv"], {"s.csv": LEVEL}),
    "of a survey with mistakes": (["new", "yard", "--survey", "s.csv"], {"s.csv": "station,drop\n0,20\n"}),
    "everything": (["new", "lane", "--metric"], {TYPED: EVERYTHING}),
    "wrong answers": (["new", "yard"], {TYPED: WRONG_ANSWERS}),
    "second thoughts": (["new", "yard"], {TYPED: SECOND_THOUGHTS}),
    "a survey at a terminal": (["new", "yard", "--survey", "s.csv"], {"s.csv": LEVEL, TYPED: "Side\nskip\n"}),
    "changed": (
        ["new", "yard"],
        {"yard/job.toml": MINE, TYPED: "change\n0\nchange\n17\n5.5\nchange\n\nchange\nback\nwhat\nd\n"},
    ),
    "gone on with": (["new", "yard"], {"yard/job.toml": MINE, "yard/a.csv": READINGS, TYPED: GONE_ON}),
    "a level book": (["new", "yard"], {"yard/job.toml": MINE, "yard/a.csv": BOOK, TYPED: "readings\ndone\n"}),
    "back and forth": (["new", "yard"], {TYPED: BACK_AND_FORTH}),
    "stopped at once": (["new", "yard"], {TYPED: "i\n"}),
    "stopped among questions": (["new", "yard"], {TYPED: "i\nLane\n"}),
    "stopped among readings": (["new", "yard", "--metric"], {TYPED: "skip\n0\n500\n4\n"}),
    "nothing but the name": ([], {TYPED: ""}),
    "the name beside a job": ([], {"job.toml": MINE, "built.toml": "", TYPED: ""}),
    "the name over jobs": ([], {"yard/job.toml": MINE, "a.csv": READINGS, "b.csv": READINGS, TYPED: ""}),
}
