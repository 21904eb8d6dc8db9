"""What an act asks, in which order and with which numbers: headless, drawn by every face.

A face starts a flow, draws what is asked, and gives back what was typed; see `conversation`.
"""
