"""The questions of each act, in order and with their numbers: headless, drawn by every face.

A face starts a flow, draws what is asked, and gives back what was typed; see `conversation`.
"""
