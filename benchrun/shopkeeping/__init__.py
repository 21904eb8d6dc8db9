"""Keeping a shop from the command line: its board and its files, each command answering in text.

No rules of a run, no screen, and nothing that writes a log; printing is left to the command line.
"""
