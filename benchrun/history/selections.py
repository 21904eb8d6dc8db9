"""The selections that questions make of the index. Nothing that a person gave is put in as text."""

from typing import Final

LATEST: Final = 200
"""How many values a table and a trend go back."""

# `{chosen}` stands for one of the selections of readings below.
ROWS: Final = """
SELECT r.name, x.n, x.utc, p.text, coalesce(i.identity, ''), l.text, x.number, w.text, u.text,
  x.low, x.high, v.text, t.text, x.corrected, r.rehearsal,
  s.procedure, s.step, s.number, s.kind, s.name, s.text
FROM ({chosen}) AS x
JOIN runs r ON r.id = x.run JOIN steps s ON s.id = x.step JOIN words p ON p.id = x.part
LEFT JOIN parts i ON i.run = x.run AND i.part = x.part
LEFT JOIN words l ON l.id = x.place LEFT JOIN words w ON w.id = x.word
LEFT JOIN words u ON u.id = x.unit LEFT JOIN words v ON v.id = x.verdict
LEFT JOIN words t ON t.id = x.tool
ORDER BY x.utc, x.run, x.n, x.part, x.place
"""
OF_STEP: Final = "SELECT * FROM readings WHERE step = ? ORDER BY utc DESC LIMIT ?"
OF_STEP_AND_PART: Final = (
    "SELECT * FROM readings WHERE part = ? AND step = ? ORDER BY utc DESC LIMIT ?"
)
# What was decided on a value is the first answer to a question about its step since it was read.
RECALL: Final = """
SELECT r.name, r.title, x.n, x.utc, p.text, coalesce(i.identity, ''), l.text, s.number,
  coalesce(nullif(s.name, ''), s.step), x.number, u.text, x.low, x.high, v.text, x.corrected,
  r.rehearsal,
  coalesce((SELECT d.answer FROM decisions d WHERE d.run = x.run AND d.part = x.part
    AND d.step = x.step AND d.n > x.n ORDER BY d.n LIMIT 1), ''),
  coalesce((SELECT e.status FROM states e WHERE e.run = x.run AND e.part = x.part
    ORDER BY e.n DESC LIMIT 1), ''),
  coalesce((SELECT e.reason FROM states e WHERE e.run = x.run AND e.part = x.part
    ORDER BY e.n DESC LIMIT 1), ''),
  r.closed
FROM readings x JOIN runs r ON r.id = x.run JOIN steps s ON s.id = x.step
JOIN words p ON p.id = x.part
LEFT JOIN parts i ON i.run = x.run AND i.part = x.part
LEFT JOIN words l ON l.id = x.place LEFT JOIN words u ON u.id = x.unit
LEFT JOIN words v ON v.id = x.verdict
WHERE x.tool = ? AND x.tool > 0 AND x.utc >= ?
ORDER BY r.began, x.run, x.n, p.text, l.text
"""
# The runs of a part by its tag, and by the numbers on it whatever the tag was.
PART_RUNS: Final = """
SELECT r.id, r.name, r.procedure, r.title, r.revision, r.began, r.last, r.closed, r.rehearsal,
  i.part, i.identity
FROM parts i JOIN runs r ON r.id = i.run
WHERE i.part = ?1 OR (i.identity = ?2 AND i.identity <> '')
ORDER BY r.began DESC, r.id DESC LIMIT ?3
"""
SIGNERS_OF_RUN: Final = """
SELECT w.text, k.text FROM signatures s JOIN words w ON w.id = s.who JOIN words k ON k.id = s.key
WHERE s.run = ? ORDER BY s.n
"""
LAST_OF_PART: Final = """
SELECT * FROM (
  SELECT x.*, row_number() OVER (PARTITION BY x.step, x.place ORDER BY x.utc DESC, x.n DESC) AS age
  FROM (
    SELECT i.run, i.part FROM parts i JOIN runs r ON r.id = i.run
    WHERE i.part = ?1 OR (i.identity = ?2 AND i.identity <> '')
    ORDER BY r.began DESC, r.id DESC LIMIT ?3
  ) AS one JOIN readings x ON x.part = one.part AND x.run = one.run
) WHERE age = 1
"""
PART_STATE: Final = (
    "SELECT status, reason FROM states WHERE run = ? AND part = ? ORDER BY n DESC LIMIT 1"
)
COUNT_OF_STEP: Final = "SELECT verdict, count(*) FROM readings WHERE step = ? GROUP BY verdict"
COUNT_OF_STEP_AND_PART: Final = (
    "SELECT verdict, count(*) FROM readings WHERE part = ? AND step = ? GROUP BY verdict"
)
COUNT_OF_RUN: Final = (
    "SELECT verdict, count(*) FROM readings WHERE part = ? AND run = ? AND number IS NOT NULL "
    "GROUP BY verdict"
)
STEPS: Final = (
    "SELECT id, procedure, step, number, kind, name, text FROM steps WHERE procedure = ? "
    "ORDER BY number, id"
)
# What waited for a window to open says nothing of how long the work took.
TIMED: Final = (
    "SELECT id, procedure, step, number, kind, name, text, per FROM steps "
    "WHERE procedure = ? AND waits = 0 ORDER BY number, id"
)
SPANS: Final = """
SELECT s.ms, s.acts, s.run, r.rehearsal FROM spans s JOIN runs r ON r.id = s.run
WHERE s.step = ? AND r.name <> ? ORDER BY s.utc DESC LIMIT ?
"""
# The time at work in each closed run, and from its beginning to its close.
WORKED: Final = """
SELECT sum(s.ms), r.last - r.began, (SELECT count(*) FROM parts WHERE run = r.id), r.rehearsal
FROM (
  SELECT id, began, last, rehearsal FROM runs WHERE procedure = ? AND closed > 0
  ORDER BY began DESC LIMIT ?
) AS r JOIN spans s ON s.run = r.id JOIN steps t ON t.id = s.step
WHERE t.kind <> 'dwell' AND t.waits = 0
GROUP BY r.id ORDER BY r.began DESC
"""
DEVIATIONS: Final = """
SELECT s.procedure, s.step, s.number, s.kind, s.name, s.text, d.what, count(*) AS times,
  count(DISTINCT d.run), max(d.utc), d.reason, r.name
FROM deviations d JOIN runs r ON r.id = d.run LEFT JOIN steps s ON s.id = d.step
WHERE ?1 = '' OR r.procedure = ?1
GROUP BY r.procedure, d.step, d.what ORDER BY times DESC, max(d.utc) DESC
"""
# The title stands beside max(began): SQLite takes it from that same row.
KNOWN_PROCEDURES: Final = """
SELECT procedure, title, count(*), max(began) AS last FROM runs GROUP BY procedure
ORDER BY last DESC
"""
KNOWN_VALUES: Final = """
SELECT procedure, step, number, kind, name, text FROM steps AS s WHERE procedure = ?
  AND EXISTS (SELECT 1 FROM readings WHERE step = s.id)
ORDER BY number, id
"""
KNOWN_PARTS: Final = """
SELECT w.text, i.identity, count(*), max(r.began) AS last
FROM parts i JOIN runs r ON r.id = i.run JOIN words w ON w.id = i.part
GROUP BY i.part ORDER BY last DESC, w.text LIMIT ?
"""
# One step of the index for each instrument, instead of a walk over all their readings.
KNOWN_TOOLS: Final = """
WITH RECURSIVE one(tool) AS (
  SELECT min(tool) FROM readings WHERE tool > 0
  UNION ALL
  SELECT (SELECT min(tool) FROM readings WHERE tool > one.tool AND tool > 0) FROM one
  WHERE one.tool IS NOT NULL
)
SELECT w.text FROM one JOIN words w ON w.id = one.tool ORDER BY w.text
"""
