"""The shop: one folder of plain files with a workshop's own people, procedures and runs.

No rules of a run and no log keeping live here; whoever needs both meets them one floor up.
A book is one list in a file: its rows are read in `book_file`, changed in `row_editor`, written by
`file_writer`; `movements` are what is done with things: used, sent away, undone, paid.
"""
