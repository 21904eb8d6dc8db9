"""A quantity that may depend on something: every form rules alike, wherever it may stand."""

from dataclasses import replace

import pytest
from trial import Trial, route_of

from benchrun.procedure.load import ProcedureError, examine
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.clocks import loads, window
from benchrun.run.decide import decide
from benchrun.run.offers import Deed

STEPS = """
- {{reading: Read the film., id: film, unit: µm}}
- {{inspect: Look., id: look, findings: {{thin: go on, thick: go on, torn: scrap}}}}
- reading: Measure the bore.
  id: bore
  unit: mm
  low: {low}
  high: {high}
  outside: [scrap, go on]
- dwell: Soak.
  id: soak
  in: tub
  least: {least}
  most: {most}
  aim: {aim}
  tend: {{every: {every}, do: Stir.}}
  early: [again]
  late: [scrap]
- do: Coat.
  id: coat
  window: {{after: soak, least: {after}, most: {until}, late: [scrap]}}
- {{do: Pack., id: pack}}
"""
CONSTANT = {
    "low": "61.949 mm", "high": "61.979 mm", "least": "10 min", "most": "20 min", "aim": "12 min",
    "every": "2 min", "after": "1 min", "until": "30 min",
}  # fmt: skip
# With a film of 40 µm found thick, each form comes to what the constant is.
FORMULA = {
    "low": "61.909 mm + film", "high": "61.939 mm + film", "least": "film / 4 µm * 1 min",
    "most": "film / 2 µm * 1 min", "aim": "film / 4 µm * 1 min + 2 min",
    "every": "film / 20 µm * 1 min", "after": "film / 40 µm * 1 min",
    "until": "film / 4 µm * 3 min",
}  # fmt: skip
BY_READING = {
    key: f"{{by: film, table: {{20 µm: {low}, 60 µm: {high}}}, source: invented}}"
    for key, low, high in (
        ("low", "61.939 mm", "61.959 mm"), ("high", "61.969 mm", "61.989 mm"),
        ("least", "5 min", "15 min"), ("most", "15 min", "25 min"), ("aim", "7 min", "17 min"),
        ("every", "1 min", "3 min"), ("after", "30 s", "90 s"), ("until", "10 min", "50 min"),
    )
}  # fmt: skip
BY_FINDING = {
    key: f"{{by: look, table: {{thin: {other}, thick: {given}}}, source: invented}}"
    for key, given, other in (
        (key, given, "1 mm" if "mm" in given else "3 h") for key, given in CONSTANT.items()
    )
}
BY_KIND = {key: given.replace("by: look", "by: kind") for key, given in BY_FINDING.items()}
FIGURE = {key: f"{key}_of" for key in CONSTANT}
FIGURES = "figures:\n" + "".join(
    f"  {key}_of: {{ask: Figure., unit: {given.split()[1]}}}\n" for key, given in CONSTANT.items()
)
KINDS = "kinds:\n  thin: {title: thin arm}\n  thick: {title: thick arm}\n"
FORMS = {
    "constant": CONSTANT,
    "formula": FORMULA,
    "table by reading": BY_READING,
    "table by finding": BY_FINDING,
}


def begun(folder, form):
    if form == "figure":
        trial = Trial(folder, STEPS.format(**FIGURE), "A", head=FIGURES)
        for key, given in CONSTANT.items():
            trial.good(c.KeepFigure(e.FigureSpec(f"{key}_of", given)))
    elif form == "kind":
        trial = Trial(folder, STEPS.format(**BY_KIND), "A", head=KINDS, kind="thick")
    else:
        trial = Trial(folder, STEPS.format(**FORMS[form]), "A")
    trial.do("film", "A", "40 µm")
    trial.do("look", "A", "thick")
    return trial


def story(folder, form):
    """What a run tells with quantities of one form."""
    trial = begun(folder, form)
    told = []
    for value in ("61.948", "61.949", "61.979", "61.98"):
        decided = decide(trial.run, trial.do_of("bore", "A", f"{value} mm"), trial.now, trial.hand)
        outcome = decided.each["A"]
        told.append((outcome.verdict, outcome.low, outcome.high))
    trial.do("bore", "A", "61.96 mm")
    trial.put_in("soak", "A")
    for minute in (1.5, 3, 9.5, 10, 12, 20, 20.5):
        trial.minute = minute
        (clock,) = loads(trial.run, trial.now)
        told.append((clock.state, clock.least, clock.most, clock.aim, clock.tend_in, clock.every))
        lift = decide(trial.run, c.Lift(("A",), trial.seen), trial.now, trial.hand)
        told.append((lift.each["A"].verdict, lift.each["A"].least, lift.each["A"].most))
    trial.minute = 12
    trial.lift("A")
    step = trial.run.route.steps["coat"]
    for minute in (12.5, 13, 42, 42.5):
        trial.minute = minute
        state = window(trial.run, trial.m("A"), step, trial.now)
        told.append((state.ruling, state.to_least, state.to_most, state.least, state.most))
        decided = decide(trial.run, trial.do_of("coat", "A"), trial.now, trial.hand)
        told.append(type(decided).__name__)
    return told


def test_every_form_of_the_same_values_gives_the_same_run(tmp_path):
    constant = story(tmp_path, "constant")
    for form in (*FORMS, "figure", "kind"):
        assert story(tmp_path, form) == constant, form


@pytest.mark.parametrize("form", [form for form in FORMS if form != "constant"])
def test_the_log_keeps_what_each_quantity_came_to_and_from_what(tmp_path, form):
    trial = begun(tmp_path, form)
    bore = trial.do("bore", "A", "61.96 mm").each["A"]
    reads, n = ("look", 2) if form == "table by finding" else ("film", 1)
    assert [(o.of, o.form, o.number, o.unit) for o in bore.origins] == [
        ("low", form, "61.949", "mm"),
        ("high", form, "61.979", "mm"),
    ]
    assert {(i.n, i.part, i.name) for o in bore.origins for i in o.inputs} == {(n, "A", reads)}
    assert {o.source for o in bore.origins} == {"" if form == "formula" else "invented"}
    soak = trial.put_in("soak", "A").each["A"]
    assert [(o.of, float(o.number)) for o in soak.origins] == [
        ("least", 600), ("most", 1200), ("aim", 720), ("every", 120),
    ]  # fmt: skip
    assert (soak.aim, soak.every) == (720_000, 120_000)
    trial.minute = 12
    trial.lift("A")
    trial.minute = 14
    kept = trial.do("coat", "A").each["A"].window
    assert (kept.ruling, kept.least, kept.most) == ("in time", 60_000, 1_800_000)


def test_a_constant_adds_nothing_to_the_log(tmp_path):
    trial = begun(tmp_path, "constant")
    assert trial.do("bore", "A", "61.96 mm").each["A"].origins == ()
    soak = trial.put_in("soak", "A").each["A"]
    assert (soak.aim, soak.every, soak.origins) == (None, None, ())


def test_a_log_that_an_older_program_began_keeps_to_what_it_knew(tmp_path):
    trial = begun(tmp_path, "formula")
    trial.run = replace(trial.run, format=1)
    assert trial.do("bore", "A", "61.96 mm").each["A"].origins == ()
    trial.good(c.KeepSeal("sig", "station@shop", "resume"))
    assert trial.run.format == 1


def test_a_fit_class_may_go_by_a_finding(tmp_path):
    steps = """
    - {inspect: Look at the mark., id: mark, findings: {inner: go on, outer: go on}}
    - reading: Measure the bore.
      id: bore
      unit: mm
      fit: {by: mark, table: {inner: 62 P7, outer: 52 P7}}
      outside: [scrap]
    """
    trial = Trial(tmp_path, steps, "A B")
    trial.do("mark", "A", "inner")
    trial.do("mark", "B", "outer")
    # ISO 286-1: 62 P7 is 61.949 to 61.979 mm, 52 P7 51.949 to 51.979 mm.
    done = trial.do("bore", "A", "61.96 mm").each["A"]
    assert (done.verdict, done.low, done.high) == ("inside", "61.949", "61.979")
    done = trial.do("bore", "B", "61.96 mm").each["B"]
    assert (done.verdict, done.low, done.high) == ("outside", "51.949", "51.979")


def test_a_fit_class_is_told_as_one(tmp_path):
    trial = Trial(
        tmp_path, "\n- {reading: Measure., id: bore, unit: mm, fit: 62 P7, outside: [scrap]}", "A"
    )
    origins = trial.do("bore", "A", "61.96 mm").each["A"].origins
    assert [(o.of, o.form, o.text, o.number) for o in origins] == [
        ("low", "fit class", "62 P7", "61.949"),
        ("high", "fit class", "62 P7", "61.979"),
    ]


def test_an_amount_may_go_by_a_table(tmp_path):
    steps = """
    - {inspect: Look., id: size, findings: {small: go on, large: go on}}
    - do: Coat.
      id: coat
      uses: {supply: primer, amount: {by: size, table: {small: 20 ml, large: 40 ml}}}
    """
    route = tmp_path / "supplied"
    route.mkdir()
    trial = Trial(route, steps, "A B", needs="{supplies: [primer]}")
    trial.do("size", "A", "small")
    trial.do("size", "B", "large")
    (use,) = trial.do("coat", "A B").uses
    assert (use.amount, use.unit, use.origin.form) == ("60", "ml", "table by finding")
    assert [i.word for i in use.origin.inputs] == ["small", "large"]


@pytest.mark.parametrize("form", ["formula", "table by reading"])
def test_correcting_what_a_window_rests_on_judges_the_start_again(tmp_path, form):
    trial = begun(tmp_path, form)
    trial.do("bore", "A", "61.96 mm")
    trial.put_in("soak", "A")
    trial.minute = 12
    trial.lift("A")
    trial.minute = 30
    trial.do("coat", "A")
    corrected = trial.correct("film", "A", "20 µm").each["A"]
    rulings = {r.about: r.today for r in corrected.rulings}
    assert [today for about, today in rulings.items() if about.endswith("/window")] == ["late"]
    asked = next(q for q in trial.questions("A") if q.about.endswith("/window"))
    assert (asked.step, asked.today) == ("coat", "late")
    assert "scrap" in [answer.code for answer in asked.answers]
    trial.correct("film", "A", "40 µm")
    assert trial.questions("A") == ()


@pytest.mark.parametrize("form", ["formula", "table by reading", "table by finding"])
def test_correcting_what_a_dwell_rests_on_changes_its_clock_at_once(tmp_path, form):
    trial = begun(tmp_path, form)
    trial.do("bore", "A", "61.96 mm")
    trial.put_in("soak", "A")
    if form == "table by finding":
        trial.correct("look", "A", "thin")
        wanted = (10_800_000,) * 4
    else:
        trial.correct("film", "A", "60 µm")
        half = form == "formula"
        wanted = (900_000, 1_800_000 if half else 1_500_000, 1_020_000, 180_000)
    (clock,) = loads(trial.run, trial.now)
    assert (clock.least, clock.most, clock.aim, clock.every) == wanted


@pytest.mark.parametrize("form", ["formula", "table by reading"])
def test_correcting_what_a_limit_rests_on_judges_the_reading_again(tmp_path, form):
    trial = begun(tmp_path, form)
    trial.do("bore", "A", "61.975 mm")
    trial.correct("film", "A", "20 µm")
    (asked,) = trial.questions("A")
    assert (asked.step, asked.today) == ("bore", "outside")
    trial.correct("film", "A", "40 µm")
    assert trial.questions("A") == ()


def test_a_window_off_its_table_starts_nothing_and_says_why(tmp_path):
    trial = Trial(tmp_path, STEPS.format(**CONSTANT | {"until": BY_READING["until"]}), "A")
    trial.do("film", "A", "70 µm")
    trial.do("look", "A", "thick")
    trial.do("bore", "A", "61.96 mm")
    trial.put_in("soak", "A")
    trial.minute = 12
    trial.lift("A")
    offer = trial.offered(Deed.DO, "coat")
    assert (offer.ready, offer.why) == (
        False,
        "its window is not known: film is 70 µm; the table goes from 20 µm to 60 µm",
    )
    assert "the window of this step is not known" in trial.refused(trial.do_of("coat", "A"))
    trial.correct("film", "A", "50 µm")
    trial.minute = 14
    assert trial.do("coat", "A").each["A"].window.ruling == "in time"


READ = "\n- {reading: Read., id: film, unit: µm}\n- {inspect: Look., id: look, findings: "
READ += "{thin: go on, thick: go on, torn: scrap}}\n"


@pytest.mark.parametrize(
    ("step", "said"),
    [
        ("{dwell: Wait., most: film * 2}", "is a length, and a length of time is needed here"),
        ("{dwell: Wait., most: soonish}", "'soonish' is no length of time"),
        ("{dwell: Wait., most: {by: look, table: {thin: 1 h}}}", "no row for thick"),
        ("{dwell: Wait., most: {by: look, table: {thin: 1 h, thick: 2 h, fat: 3 h}}}",
         "'fat' is no finding of 'look'"),
        ("{dwell: Wait., most: {by: film, table: {1 µm: 1 h, 2 kN: 2 h}}}", "kN"),
        ("{dwell: Wait., most: {by: film, table: {1 µm: 1 mm, 2 µm: 2 h}}}", "no length of time"),
        ("{dwell: Wait., most: {by: film, table: {2 µm: 1 h, 1 µm: 2 h}}}", "two or more rows"),
        ("{do: Coat., window: {after: look, most: later}}", "'later' is no length of time"),
        ("{dwell: Wait., tend: {every: {by: wax, table: {1 µm: 1 h, 2 µm: 2 h}}, do: Stir.}}",
         "'wax' is no single reading"),
        ("{reading: Measure., unit: mm, low: {by: film, table: {1 µm: 1 kN, 2 µm: 2 kN}}}",
         "force"),
        ("{reading: Measure., unit: mm, fit: {by: film, table: {1 µm: 62 P7, 2 µm: 52 P7}}}",
         "between two fit classes there is nothing"),
    ],
)  # fmt: skip
def test_what_does_not_fit_is_refused_at_its_place(tmp_path, step, said):
    with pytest.raises(ProcedureError) as refused:
        route_of(tmp_path, f"{READ}- {step}\n")
    assert any(said in one.text for one in refused.value.problems), refused.value.problems


def test_an_entry_reads_back_with_its_origins(tmp_path):
    trial = begun(tmp_path, "table by reading")
    trial.do("bore", "A", "61.96 mm")
    for entry in trial.entries:
        assert e.read_data(entry.kind, e.data_of(entry.data)) == entry.data


@pytest.mark.parametrize(("source", "asks"), [("", True), (", source: invented", False)])
def test_a_table_says_where_it_is_known_from_or_is_asked(tmp_path, source, asks):
    table = f"{{by: film, table: {{1 µm: 1 h, 2 µm: 2 h}}{source}}}"
    route_of(tmp_path, f"{READ}- {{dwell: Wait for it., id: wait, least: {table}}}\n")
    said = [one.text for one in examine(tmp_path / "trial.yaml").problems]
    assert any("without a source" in text for text in said) is asks, said


@pytest.mark.parametrize(
    ("form", "right", "wrong"),
    [
        ("figure", {}, {"low_of": "61.97 mm", "least_of": "18 min", "until_of": "1 min"}),
        ("kind", {"kind": "thick"}, {"kind": "thin"}),
        ("formula", {"film": "40 µm"}, {"film": "100 µm"}),
        ("table by finding", {"look": "thick"}, {"look": "thin"}),
    ],
)
def test_correcting_what_limits_rest_on_judges_all_of_it_again_and_back(
    tmp_path, form, right, wrong
):
    trial = begun(tmp_path, form)
    trial.do("bore", "A", "61.96 mm")
    trial.put_in("soak", "A")
    trial.minute = 12
    trial.lift("A")
    trial.minute = 14
    trial.do("coat", "A")
    before = trial.m("A").decisions

    def correct(name, to):
        if name in trial.run.route.steps:
            return trial.correct(name, "A", to)
        figure = trial.run.figures.get(name)
        n, part = (figure.n, "") if figure is not None else (0, "A")
        return trial.good(c.Correct(n, part, "looked up wrongly", to, to, name))

    for name, to in wrong.items():
        correct(name, to)
    asked = {question.about for question in trial.m("A").questions}
    sorts = {before[about].sort for about in asked}
    assert sorts - {"finding"} == {"limit", "dwell", "window"}
    was = right or {name: CONSTANT[name.removesuffix("_of")] for name in wrong}
    for name, to in was.items():
        correct(name, to)
    assert trial.m("A").questions == ()
    assert {key: one.ruled for key, one in trial.m("A").decisions.items()} == {
        key: one.ruled for key, one in before.items()
    }
