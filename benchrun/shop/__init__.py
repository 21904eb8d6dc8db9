"""The shop: one folder of plain files with a workshop's own people, procedures and runs.

No rules of a run and no log keeping live here; whoever needs both meets them one floor up.
"""
