"""The measuring tools that a page is made of: rule, scale, digits, gauge, tag and plate.

Each is a pure function from text and numbers to lines; only `PageView` knows the terminal.
"""
