"""Published job shops, as plans: a machine is a vessel that holds one, and nobody's hands count.

Rows are jobs, pairs are machine and minutes. The figures are from memory; what they come to is
published, and the solver finds just that.
"""

from benchrun.plan.workload import Gap, PlannedJob, Segment, Train, Workload

# Fisher, H., Thompson, G. L.: Probabilistic learning combinations of local job-shop scheduling
# rules, in: Industrial Scheduling (Muth, Thompson), 1963: 6 jobs on 6 machines.
FT06 = """
2 1  0 3  1 6  3 7  5 3  4 6
1 8  2 5  4 10  5 10  0 10  3 4
2 5  3 4  5 8  0 9  1 1  4 7
1 5  0 5  2 5  3 3  4 8  5 9
2 9  1 3  4 5  5 4  0 3  3 1
1 3  3 3  5 9  0 10  4 4  2 1
"""
# Lawrence, S.: Resource constrained project scheduling, 1984: 10 and 15 jobs on 5 machines.
LA01 = """
1 21  0 53  4 95  3 55  2 34
0 21  3 52  4 16  2 26  1 71
3 39  4 98  1 42  2 31  0 12
1 77  0 55  4 79  2 66  3 77
0 83  3 34  2 64  1 19  4 37
1 54  2 43  4 79  0 92  3 62
3 69  4 77  1 87  2 87  0 93
2 38  0 60  1 41  3 24  4 83
3 17  1 49  4 25  0 44  2 98
4 77  3 79  2 43  1 75  0 96
"""
LA06 = """
1 21  2 34  4 95  0 53  3 55
3 52  4 16  1 71  2 26  0 21
2 31  0 12  1 42  3 39  4 98
3 77  1 77  4 79  0 55  2 66
4 37  3 34  2 64  1 19  0 83
2 43  1 54  0 92  3 62  4 79
0 93  3 69  1 87  4 77  2 87
0 60  1 41  2 38  4 83  3 24
2 98  3 17  4 25  0 44  1 49
0 96  4 77  3 79  1 75  2 43
4 28  2 35  0 95  3 76  1 7
0 61  4 10  2 95  1 9  3 35
4 59  3 16  1 91  2 59  0 46
4 43  1 52  0 28  2 27  3 50
0 87  1 45  2 39  4 9  3 41
"""


def job_shop(text):
    trains, gaps, machines = [], [], set()
    rows = text.split("\n")[1:-1]
    for number, row in enumerate(rows):
        numbers = [int(word) for word in row.split()]
        last = None
        for at, (machine, minutes) in enumerate(zip(numbers[::2], numbers[1::2], strict=True)):
            machines.add(f"machine {machine}")
            segment = Segment(minutes, hands=False, vessel=f"machine {machine}")
            train = Train(f"{number}/{at}", str(number), f"operation {at}", 1, (segment,))
            trains.append(train)
            if last:
                gaps.append(Gap(train.id, last.id, least=last.minutes))
            last = train
    everything = PlannedJob("all", tuple(str(number) for number in range(len(rows))))
    openings = ((0, sum(train.minutes for train in trains)),)
    rooms = dict.fromkeys(sorted(machines), 1)
    return Workload(
        0, openings, 1, rooms, tuple(trains), tuple(gaps), jobs=(everything,), reserve=0
    )
