"""The questions of each act, in order and with their numbers: headless, drawn by every face.

A face starts a flow, draws what is asked, and gives back what was typed; see `conversation`.
`delivery` gives a command and asks for the reason that it lacks; `hand` is what a person has taken
in hand; `deviation` all that is done otherwise than the procedure says.
"""
