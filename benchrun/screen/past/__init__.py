"""Questions over all runs: asking the index beside the screen, the answers as pages to be read.

Not here: what the answers are, which is a matter of history.
"""
