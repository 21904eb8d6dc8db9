"""The account of a run: its facts from one walk through its log, and the words for each, once.

Whoever tells of a run (the text of it, the log page, a report, what many runs taught, the notes of
verifying) takes facts and words from here and reads no log by itself.
"""
