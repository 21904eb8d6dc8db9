"""The plan of an evening as a card for the wall: one page, read from two metres away."""

import datetime as dt
from html import escape
from typing import Final

from benchrun.moment import Moment
from benchrun.plan.evening import Evening
from benchrun.plan.plan_row import PlanRow
from benchrun.plan.warming import warm_up
from benchrun.plan.words import first_evening, letters, not_tonight, rows_between
from benchrun.wording import clock_time

_STYLE: Final = """\
@page { size: A4; margin: 12mm }
body { font: 17pt/1.3 sans-serif; margin: 0; color: #000; background: #fff; max-width: 190mm }
h1 { font-size: 23pt; margin: 0 0 2mm } h2 { font-size: 17pt; margin: 5mm 0 1mm }
p { margin: 1mm 0 } table { border-collapse: collapse; width: 100% }
td, th { padding: 1.5mm 2mm; border-top: 0.4mm solid #000; vertical-align: top; text-align: left }
.at { font-size: 24pt; font-weight: bold; white-space: nowrap; font-variant-numeric: tabular-nums }
.run { font-size: 24pt; font-weight: bold } .small { font-size: 12pt } .less { font-size: 13pt }
caption { display: none }
"""


def card_html(evening: Evening, now: Moment, zone: dt.tzinfo | None = None) -> str:
    """The plan of this evening, or of the next one, as an HTML page without anything to load.

    Args:
        evening: The plan.
        now: The moment.
        zone: The time zone of the clock times; None: that of this machine.
    """
    span = first_evening(evening)
    since, until = (max(span[0], now.utc_ms), span[1]) if span else (now.utc_ms, now.utc_ms)
    day = dt.datetime.fromtimestamp(since // 1000, dt.UTC).astimezone(zone)
    hours = f"{_at(since, now, zone)} to {_at(until, now, zone)}"
    planned = rows_between(evening, since, until)
    rows = "".join(_row(row, now, zone) for row in planned)
    leave = not_tonight(evening, since, until)
    told = {row.letter for row in planned} | {words.split(" ", 1)[0] for words in leave}
    runs = "; ".join(
        f"<b>{escape(letter)}</b> {escape(evening.names[run])}"
        for run, letter in letters(evening).items()
        if letter in told
    )
    left = "".join(f'<p class="less">{escape(words)}</p>' for words in leave)
    hot = "".join(
        f'<p class="less">{escape(words)}</p>' for words in warm_up(evening, planned, now, zone)
    )
    warm = f"<h2>Warm up first</h2>{hot}" if hot else ""
    dont = f"<h2>Do not begin</h2>{left}" if left else ""
    title = f"{day:%A} {day.day} {day:%B}"
    body = rows or '<tr><td colspan="3">Nothing to do in this time.</td></tr>'
    return f"""\
<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="generator" content="benchrun">
<title>{escape(title)}</title>
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<style>{_STYLE}</style></head>
<body><main><h1>{escape(title)}, {escape(hours)}</h1>
<p class="small">Plan of {_at(now.utc_ms, now, zone)}, good until something slips. It is advice.</p>
<table><caption>What to do when</caption>
<thead><tr><th scope="col">when</th><th scope="col">run</th><th scope="col">what</th></tr></thead>
<tbody>{body}</tbody></table>
{warm}{dont}<h2>Runs</h2><p class="less">{runs}</p>
</main></body></html>
"""


def _row(row: PlanRow, now: Moment, zone: dt.tzinfo | None) -> str:
    free = "" if row.hands == row.minutes else f", hands {row.hands} min"
    late = f"; too late, then {escape(row.late)}" if row.late else ""
    return (
        f'<tr><td class="at">{_at(row.at, now, zone)}</td><td class="run">{escape(row.letter)}</td>'
        f'<td>{escape(row.words)}<br><span class="small">{escape(row.parts)}, '
        f"{row.minutes} min{free}{late}</span></td></tr>"
    )


def _at(ms: int, now: Moment, zone: dt.tzinfo | None) -> str:
    return clock_time(ms, now.utc_ms, zone, day=False)
