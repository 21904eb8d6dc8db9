"""The plain face: the same run line by line, for screen readers, dumb terminals and pipes.

No cursor control, no colour and no rules; it prints what is on offer and sends commands.
"""
