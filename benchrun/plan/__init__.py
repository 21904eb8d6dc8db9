"""A plan of the evening and of the job: what to begin when, and what not to begin.

It is advice: it reads runs, hours and vessels, and never enters a log.
"""
