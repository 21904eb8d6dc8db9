"""What published guidance asks of such a paper, and where a record has it; and its decision rule.

The demands are from memory of ISO/IEC 17025:2017, 7.8 (reporting of results), EN 10204:2004
(inspection documents) and JCGM 106:2012, told in own words. A record is no certificate of an
accredited laboratory, and does not say that it is one.
"""

import re
from decimal import Decimal

import pytest
from worked_runs import Worked

from benchrun.report.command import run_report
from benchrun.report.conformity import RULE
from benchrun.report.front import Issue
from benchrun.run.entries import Tool
from benchrun.shopmath.accepting import verdict_of
from benchrun.verify import verify

ISSUE = Issue("", "2026-03-03T09:00:00Z", "Ferry museum")
BOOK = Tool(
    "bore-gauge-7",
    "0.002",
    "bore gauge; range 50 to 160 mm; resolution 0.001 mm; calibrated 2026-01-09",
    calibrated="2026-01-09",
    until="2027-01-09",
    resolution="0.001",
)

# (who asks, what for, the words by which a front or an annex answers; None: not answered, and why)
ASKED = (
    ("17025 7.8.2.1 a", "a title", "RECORD OF WORK AND INSPECTION"),
    ("17025 7.8.2.1 b", "name of who issues it", "by Invented Shop"),
    ("17025 7.8.2.1 c", "where the work was done", None),  # the log knows a shop, no address
    ("17025 7.8.2.1 d", "an identification, and a clear end", "End of the record."),
    ("17025 7.8.2.1 e", "the customer", "For Ferry museum"),
    ("17025 7.8.2.1 f", "the method used", "seat-look revision 3"),
    ("17025 7.8.2.1 g", "the items, their identity and condition", "hub L (cast 4-117)"),
    ("17025 7.8.2.1 g", "the condition on receipt", "As received"),
    ("17025 7.8.2.1 h", "when the items were received", None),  # the parts book has it, no log
    ("17025 7.8.2.1 i", "when the work was done", "2026-03-02 08:00 to 2026-03-02"),
    ("17025 7.8.2.1 j", "the day of issue", "Issued 2026-03-03 09:00 UTC"),
    ("17025 7.8.2.1 l", "that it relates to these items only", "Relates to these parts only"),
    ("17025 7.8.2.1 m", "the results with their units", "61.960 mm, ± 0.002"),
    ("17025 7.8.2.1 n", "what was done otherwise than the method", "deviation"),
    ("17025 7.8.2.1 o", "who authorises it", "BY WHOSE AUTHORITY"),
    ("17025 7.8.3.1 c", "the uncertainty of measurement", "± 0.002"),
    ("17025 7.8.6.1", "the decision rule that was used", "Decision rule (ISO 14253-1"),
    ("17025 7.8.6.2", "which results it applies to, which limits", "61.949 to 61.979 mm"),
    ("17025 6.4, 6.5", "the instruments and their calibration", "2027-01-09"),
    ("EN 10204, 3.1", "results of tests on the very items", "hub L"),
    ("EN 10204, 3.1", "who releases, apart from who makes", "Ann Ode, restorer"),
    ("JCGM 106, 8", "how the uncertainty counts", "wholly beyond one, in doubt between"),
)


@pytest.fixture(scope="module")
def record(tmp_path_factory):
    """The text of a record, as one line, and its tables row by row."""
    work = Worked(tmp_path_factory.mktemp("guidance"), [("hub L", 1, "cast 4-117")])
    work.do("wipe", reason="with the other cloth")
    work.soak("hub L")
    work.read("hub L", "61.960", BOOK)
    work.read("hub L", "61.960", BOOK)
    work.do("bore-mean")
    work.do("cracks", finding="none seen")
    work.coat("hub L")
    work.close()
    to = work.folder.parent / "run"
    verdict = verify(work.folder).as_data()
    for ending in (".txt", ".html"):
        run_report([work.folder], to.with_suffix(ending), [verdict], issue=ISSUE)
    text = " ".join(to.with_suffix(".txt").read_text("utf-8").split())
    html = re.sub(
        r"<[^>]+>", " ", to.with_suffix(".html").read_text("utf-8").partition("<main>")[2]
    )
    return f"{text} {' '.join(html.split())}"


@pytest.mark.parametrize(("who", "what", "words"), [row for row in ASKED if row[2]])
def test_the_record_has_what_guidance_asks_for(record, who, what, words):
    assert words in record, f"{who} asks for {what}"


def test_what_a_record_does_not_answer_is_named():
    assert [what for _, what, words in ASKED if words is None] == [
        "where the work was done",
        "when the items were received",
    ]


def test_the_record_does_not_call_itself_the_paper_of_a_laboratory(record):
    assert not re.search(r"accredit|certificate of|calibration certificate", record, re.IGNORECASE)


# 50 k6 (50.002 to 50.018 mm) with U = 0.003 mm, ISO 14253-1: accepted from 50.005 to 50.015, proven
# outside below 49.999 and above 50.021, else undecided. JCGM 106:2012, 8.3.2: a guarded acceptance
# with a guard band as wide as U; the example is worked out from the two.
WORKED = (
    ("50.005", "inside"),
    ("50.0049", "in doubt"),
    ("50.015", "inside"),
    ("50.0151", "in doubt"),
    ("49.999", "in doubt"),
    ("49.9989", "outside"),
    ("50.021", "in doubt"),
    ("50.0211", "outside"),
)


@pytest.mark.parametrize(("value", "verdict"), WORKED)
def test_the_rule_stated_is_the_rule_applied(value, verdict):
    low, high, reach = Decimal("50.002"), Decimal("50.018"), Decimal("0.003")
    assert verdict_of(Decimal(value), low, high, reach) == verdict
    assert "guarded by the whole expanded uncertainty U" in RULE


def test_limits_closer_than_twice_the_uncertainty_accept_nothing():
    # 25 k5, 0.009 mm wide, with U = 0.005 mm: the zone of acceptance is 1 µm less than nothing.
    low, high, reach = Decimal("25.002"), Decimal("25.011"), Decimal("0.005")
    verdicts = {verdict_of(low + Decimal(n) / 1000, low, high, reach) for n in range(10)}
    assert verdicts == {"in doubt"}
