"""Pictures on their way into the shop or a record: found, read, their position taken out.

Not here: where they are kept, and what a log says of them.
"""
