"""The clocks that call: their words, which call and how loud, which are silenced, what rings.

`book` knows no rules of a run: a board with nothing open comes up without them.
"""
