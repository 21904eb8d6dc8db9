"""The shop as a run uses it: instrument of a reading, tins, baths, shared vessels, what is lacking.

Apart from shop/, because it knows procedures and runs: the shop's own files are read, checked and
written without the rules of a run, so that they can stand below them and come up without them.
No log is kept and nothing is shown here.
"""
