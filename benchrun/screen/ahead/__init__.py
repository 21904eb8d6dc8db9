"""Reading a procedure ahead of the work.

It shows and asks; what may be done is decided elsewhere.
"""
